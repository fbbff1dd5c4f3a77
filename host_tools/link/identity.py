"""Who a board says it is."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from host_tools.link.errors import LinkError

if TYPE_CHECKING:
    from gen.plan import Plan

BENCH_NONE, BENCH_OFF, BENCH_ON = "none", "off", "on"


@dataclass(frozen=True)
class Identity:
    """What a board tells of itself. A recorder has no `ship`. `inputs` are the pins that listen, in
    the order of their tags; `kept` is what it found at power-up."""

    plan_id: str
    ship: str = ""
    board: str = ""
    maker: str = ""
    size: str = ""
    reset: str = ""
    inputs: tuple[str, ...] = ()
    bench: str = BENCH_NONE
    kept: bytes = b""
    other: tuple[str, ...] = field(default=())

    @property
    def is_recorder(self) -> bool:
        """Whether it only listens."""
        return not self.ship

    @property
    def reset_cause(self) -> str:
        """Why it started last: "power", "watchdog"; "" if it does not say."""
        pairs = dict(one.partition("=")[::2] for one in self.reset.split())
        return pairs.get("cause", "")

    @property
    def resets(self) -> dict[str, int]:
        """How often it started since power came, by cause."""
        pairs = (one.partition("=")[::2] for one in self.reset.split())
        return {key: int(value) for key, value in pairs if value.isdecimal()}

    def told(self) -> list[str]:
        """A few lines for people."""
        lines = [
            f"{self.ship or 'a recorder: it listens and drives nothing'}, plan {self.plan_id}",
            f"  board {self.board}, made by pinrail {self.maker}, {self.size}".rstrip(", "),
        ]
        if self.reset:
            counts = ", ".join(f"{key} {count}" for key, count in self.resets.items() if count)
            lines.append(f"  last start: {self.reset_cause or 'unknown'} (so far: {counts or '-'})")
        lines.append(f"  bench: {_BENCH_WORDS.get(self.bench, self.bench)}")
        return lines

    def as_json(self) -> dict[str, object]:
        """The same for machines."""
        return {
            "ship": self.ship,
            "plan": self.plan_id,
            "board": self.board,
            "maker": self.maker,
            "size": self.size,
            "reset": self.reset_cause,
            "resets": self.resets,
            "inputs": list(self.inputs),
            "bench": self.bench,
        }


_BENCH_WORDS = {
    BENCH_NONE: "never (the ship file has no `bench:`)",
    BENCH_OFF: "not now (its jumper was not fitted when the board started)",
    BENCH_ON: "yes, inputs and forces from here are obeyed",
}


MOST_OTHER = 32
"""Lines of later versions, which are kept as they are."""

_PIN = re.compile("[A-Z][0-9]{1,2}")


class Gathering:
    """Collects the lines of an identity until the last one."""

    def __init__(self) -> None:
        self._said: dict[str, str] = {}
        self._inputs: dict[str, str] = {}
        self._other: list[str] = []

    def take(self, key: str, value: str) -> None:
        """One line of it; of those that no board of ours says, only so many."""
        value = " ".join(value.split())
        if key == "input":
            tag, _, pin = value.partition(" ")
            self._inputs[tag] = pin
        elif key in _KEYS:
            self._said[key] = value
        elif len(self._other) < MOST_OTHER:
            self._other.append(f"{key} {value}")

    def whole(self) -> Identity | None:
        """The identity, if what has come is enough of one."""
        said = self._said
        tags = "".join(self._inputs)
        pins = tuple(self._inputs.values())
        if "plan" not in said or "bench" not in said or tags != "abcdefghijklmnop"[: len(tags)]:
            return None
        if len(set(pins)) < len(pins) or not all(map(_PIN.fullmatch, pins)):
            return None
        return Identity(
            plan_id=said["plan"],
            ship=said.get("ship", ""),
            board=said.get("board", ""),
            maker=said.get("maker", ""),
            size=said.get("size", ""),
            reset=said.get("reset", ""),
            inputs=pins,
            bench=said["bench"],
            kept=_bytes(said.get("kept", "")),
            other=tuple(self._other),
        )


_KEYS = ("ship", "plan", "board", "maker", "size", "reset", "bench", "kept")


def _bytes(text: str) -> bytes:
    try:
        return bytes.fromhex(text)
    except ValueError:
        return b""


def check_plan(identity: Identity, plan: Plan, file: str) -> None:
    """Raises LinkError (`other-plan`) unless the board runs this very plan."""
    if identity.plan_id == plan.plan_id:
        return
    runs = f"plan {identity.plan_id} of {identity.ship}" if identity.ship else "a recorder"
    raise LinkError(
        "other-plan",
        f"the board runs {runs}, {file} is plan {plan.plan_id} of {plan.ship}",
    )


def check_bench(identity: Identity, jumper: str = "") -> None:
    """Raises LinkError (`bench-off`) unless the board obeys inputs and forces from here."""
    if identity.bench == BENCH_ON:
        return
    if identity.bench == BENCH_OFF:
        pin = jumper or "the jumper's pin"
        raise LinkError(
            "bench-off",
            "the board was started without its bench jumper",
            f"tie {pin} to ground, then press the board's reset button",
        )
    raise LinkError("bench-off", "the ship on this board takes nothing from the bench")
