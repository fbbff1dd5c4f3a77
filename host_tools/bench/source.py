"""What the bench shows: a simulated ship or a board, behind one small protocol."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from gen.plan import Plan
    from host_tools.bench.radio import Hand, Radio
    from host_tools.model.behaviours.gauge import Gauge
    from host_tools.model.stepwise import Looks

MODEL, FIRMWARE, BOARD = "model", "firmware", "board"
"""The kinds of source."""

STARTING, UP, GONE, WRONG = "starting", "up", "gone", "wrong"
"""How it stands with the way to it: `gone` is unplugged and looked for again."""

NOT_CONSENTED = "the ship file has no `bench:`, so a board takes nothing from here"


class Tick(NamedTuple):
    """One tick of the ship in which something may have happened. `k` counts ticks of the bench and
    never falls; `up` is why the ship started in it, "" if it did not; `pulses` are inputs and
    widths, `readings` sensors and what they read from here on."""

    k: int
    pulses: Sequence[tuple[int, int]]
    readings: Sequence[tuple[int, int]]
    looks: Looks
    up: str = ""


@dataclass(frozen=True)
class Link:
    """How it stands with the way to the ship, and which plan and ship are there ("": not known)."""

    state: str = STARTING
    why: str = ""
    plan_id: str = ""
    ship: str = ""


@dataclass(frozen=True)
class Agreement:
    """Ticks in which model and board were compared, what differed first ("": nothing), and why
    nothing is compared now ("": it is)."""

    compared: int = 0
    starts: int = 0
    first: str = ""
    waits: str = ""


@dataclass(frozen=True)
class Allowed:
    """What the ship lets the bench do: `move` its controls, `fault` its signal, `force`; `why` it
    lets nothing be forced. `inputs`: a board is worked from here now."""

    move: bool = True
    fault: bool = True
    force: bool = True
    restart: bool = True
    inputs: bool = False
    why: str = ""


class Source(Protocol):
    """A ship in the bench. Nothing here takes longer than a fraction of a second without drawing
    `breathe`."""

    kind: str
    where: str
    plan: Plan
    radio: Radio
    found: bytes
    """What it found kept when it started last."""
    breathe: Callable[[], None]
    """Called again and again while `start` or `turn` waits for a board to say who it is."""

    def start(self) -> None:
        """Begins. Raises what a command tells (LinkError, RungUnavailable, MissingTool)."""
        ...

    def turn(self) -> list[Tick]:
        """What has happened since it was asked last."""
        ...

    @property
    def until(self) -> int:
        """The first tick that is not told yet."""
        ...

    @property
    def link(self) -> Link: ...

    @property
    def agreement(self) -> Agreement | None:
        """None where there is nothing beside the model."""
        ...

    @property
    def allowed(self) -> Allowed: ...

    def gauges(self, function: int) -> tuple[Gauge, ...]:
        """What a function counts now."""
        ...

    def restart(self, cause: str, *, forget: bool = False) -> None:
        """Makes the ship start anew, by this cause ("power", "brown-out"); it may `forget` what it
        kept over power-off. Raises LinkError, Refused."""
        ...

    def play(self, hand: Hand | None) -> None:
        """Lets this hand work the ship from now on; None gives it back to the radio."""
        ...

    def inputs(self, *, ours: bool) -> None:
        """Of a board: works it from here in place of its receiver, or no longer."""
        ...

    def arm(self, function: int) -> str:
        """The first step of a force. Gives the reason why not, or ""."""
        ...

    def force(self, function: int, state: int) -> str:
        """Puts an armed function into a state, the number of one of its `forces`. Gives the reason
        why not, or ""."""
        ...

    def here(self) -> None:
        """Somebody still holds it: without this a force ends after 300 ms."""
        ...

    def free(self) -> None:
        """Ends a force and what was armed."""
        ...

    def close(self) -> None:
        """Lets go of everything."""
        ...
