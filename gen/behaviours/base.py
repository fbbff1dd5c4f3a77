"""What every behaviour has in common."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.plan import NO_LINE, TICK_MS
from gen.read.keys import Located, Named, Nested, Record, key
from gen.read.kinds import ANY_CURRENT, CODE_NAME, Plain, Words

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.plan import Plan
    from gen.resolve.context import Context


class Loss(enum.StrEnum):
    """What a function does while the signal of a control that it obeys is lost."""

    OFF = "off"
    KEEP = "keep"
    ON = "on"


@dataclass(frozen=True, kw_only=True)
class LoadItem(Record):
    """What an output switches, for the electrical sums."""

    supply: Located[str] = key(
        Plain("the name of a supply"), "the supply that feeds it", required=True
    )
    draws: Located[Decimal] = key(ANY_CURRENT, "its current while it runs", required=True)
    stalls: Located[Decimal] | None = key(ANY_CURRENT, "a motor's current when it is held fast")
    kind: Located[str] | None = key(
        Words("lamp", "LED", "motor", "solenoid", "heater", "electronics"), "what it is"
    )


@dataclass(frozen=True, kw_only=True)
class FunctionKeys(Named):
    """What every function may say in the ship file. Each behaviour adds its own keys."""

    later: ClassVar[frozenset[str]] = frozenset({"only while", "when", "run on", "sensed on"})

    drives: Located[str] = key(Plain("the name of an output"), "what it drives", required=True)
    load: LoadItem | None = key(Nested(LoadItem, "the keys of a load"), "what it switches")
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")

    def resolve(self, to: Context) -> Function | None:
        """The function of the plan; None after noting what is wrong."""
        raise NotImplementedError


@dataclass(frozen=True)
class Cells:
    """One function's row in the sketch's table, each cell a list of C++ expressions, and the same
    numbers in a person's units for the comment behind it."""

    asked_by: tuple[str, ...]
    limits: tuple[str, ...]
    drives: tuple[str, ...]
    on_loss: tuple[str, ...]
    remark: str = ""


@dataclass(frozen=True, kw_only=True)
class Function:
    """Something the ship does. Subclasses add what their behaviour needs, in integers."""

    key: ClassVar[str]
    """The ship file's word for the behaviour; also its C++ header and guide page."""
    written: ClassVar[type[FunctionKeys]]
    """What such a function says in the ship file."""

    memory_begins_from_plan: ClassVar[bool] = False
    """Whether its C++ Memory begins with something other than zeros, told by the function."""

    name: str
    code: str
    on_loss: Loss
    source_line: int = NO_LINE

    @property
    def controls(self) -> tuple[int, ...]:
        """Indices of the controls that it obeys, each once."""
        raise NotImplementedError

    @property
    def lines(self) -> tuple[int, ...]:
        """Indices of the digital outputs that it alone drives."""
        return ()

    @property
    def servos(self) -> tuple[int, ...]:
        """Indices of the servos that it alone drives."""
        return ()

    @property
    def states(self) -> tuple[str, ...]:
        """The words for its states: `states[0]` with no line on, `states[i]` with lines[i-1] on."""
        return ("off", "on")

    @property
    def moves(self) -> bool:
        """Whether it can pinch, cut or drag: such a function earns a caution."""
        return False

    def cells(self, plan: Plan) -> Cells:
        """Its row in the sketch's table."""
        raise NotImplementedError


def seconds(ticks: int) -> str:
    """A time as people write it: 1600 ticks are "8 s", 3 are "0.015 s"."""
    whole, rest_ms = divmod(ticks * TICK_MS, 1_000)
    return f"{whole}.{rest_ms:03}".rstrip("0").rstrip(".") + " s"
