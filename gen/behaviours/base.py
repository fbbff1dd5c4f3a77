"""What every behaviour has in common."""

from __future__ import annotations

import enum
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.electric import LoadItem
from gen.plan import NO_LINE, OPEN, TICK_MS, StateOf
from gen.read.keys import Located, Named, Nested, key
from gen.read.kinds import CODE_NAME, DOING, Plain
from gen.read.sections import Entries, OneOrMore, Section

if TYPE_CHECKING:
    from gen.plan import Ask, Felt, Gate, Plan
    from gen.resolve.context import Context


class Loss(enum.StrEnum):
    """What a function does while the signal of a control that it obeys is lost."""

    OFF = "off"
    KEEP = "keep"
    ON = "on"


@dataclass(frozen=True, kw_only=True)
class FunctionKeys(Named):
    """What every function may say in the ship file. Each behaviour adds its own keys."""

    later: ClassVar[frozenset[str]] = frozenset({"sensed on"})

    load: LoadItem | None = key(Nested(LoadItem, "the keys of a load"), "what it switches")
    loads: Section[LoadItem] | None = key(
        Entries("load", Nested(LoadItem, "the keys of a load"), least=1),
        "the same, if it switches several: names, each with the keys of a load",
    )
    only_while: tuple[Located[str], ...] | None = key(
        OneOrMore(DOING), "it is off unless all of these are so: a function is on, or in a state"
    )
    never_with: tuple[Located[str], ...] | None = key(
        OneOrMore(DOING), "the one that runs keeps the other off"
    )
    first: tuple[Located[str], ...] | None = key(
        OneOrMore(Plain("a function, or one and 'for' and a time, such as 'deck lights for 2 s'")),
        "it starts only once this is on, and has been for that time; it may go on without",
    )
    then: tuple[Located[str], ...] | None = key(
        OneOrMore(Plain("a function, or one and 'after' and a time, such as 'crane after 2 s'")),
        "the same as `first`, written in the function that comes first",
    )
    code_name: Located[str] | None = key(CODE_NAME, "its name in the sketch")

    def depends_on(self) -> tuple[Located[str], ...]:
        """The functions, or their states, that must be settled in a tick before this one is: what
        the behaviour itself asks for with `Context.state_of`. Conditions are seen to elsewhere."""
        return ()

    def driven(self) -> tuple[Located[str], ...]:
        """The names of the outputs that it drives."""
        return ()

    def resolve(self, to: Context) -> Function | None:
        """The function of the plan, without its gate; None after noting what is wrong."""
        raise NotImplementedError


@dataclass(frozen=True, kw_only=True)
class DrivesKeys(FunctionKeys):
    """What a function that drives one output says."""

    drives: Located[str] = key(Plain("the name of an output"), "what it drives", required=True)

    def driven(self) -> tuple[Located[str], ...]:
        return (self.drives,)


@dataclass(frozen=True)
class Table:
    """A table in flash that belongs to one function: `kind` is its namespace in the sketch, `type`
    that of its rows."""

    kind: str
    type: str
    rows: tuple[str, ...]


@dataclass(frozen=True)
class Cells:
    """One function's row in the sketch's table, each cell a list of C++ expressions, and the same
    numbers in a person's units for the comment behind it."""

    asked_by: tuple[str, ...]
    limits: tuple[str, ...]
    drives: tuple[str, ...]
    on_loss: tuple[str, ...]
    remark: str = ""


@dataclass(frozen=True)
class Answer:
    """What a thumb gets from a function: what it does when `position` of `control` is taken ("on
    while held") or, where `position` is None, when the control is turned. Indices into the plan's.
    """

    control: int
    position: int | None
    does: str


LOSS_IN_WORDS = {Loss.OFF: "switches off", Loss.KEEP: "stays as it is", Loss.ON: "switches on"}


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
    gate: Gate = OPEN
    source_line: int = NO_LINE

    @property
    def watched(self) -> frozenset[int]:
        """Indices of the functions whose state it looks at, for its gate or for itself."""
        states = [one for one in self.conditions if isinstance(one, StateOf)]
        return self.gate.watched | {one.function for one in states}

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        """What the behaviour itself wants to know of sensors and other functions, 16 at most. In
        each tick, before it is asked, it is told which of these are so, a bit each."""
        return ()

    @property
    def kept_bytes(self) -> int:
        """How many bytes it keeps over power-off; its C++ then has keep() and recall()."""
        return 0

    @property
    def type_name(self) -> str:
        """Its C++ class, of which `key`.h or another of its headers has the definition."""
        return type(self).__name__

    @property
    def headers(self) -> tuple[str, ...]:
        """The headers of `templates/sketch/behaviours/` that it needs."""
        return (self.key,)

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
    def lights(self) -> tuple[int, ...]:
        """Indices of the lights that it alone drives."""
        return ()

    @property
    def states(self) -> tuple[str, ...]:
        """The words for its states, 16 at most, by the number that its C++ and its model give as
        state(). `states[0]` is what it is when it does nothing, with no output on."""
        return ("off", "on")

    @property
    def forces(self) -> tuple[str, ...]:
        """The words for what the bench can force it into, by the number that its C++ and its model
        take in as_forced(): its states unless a behaviour has better ones. The first is off."""
        return self.states

    @property
    def patterns(self) -> tuple[int, ...]:
        """For each state which of `lines` are on: bit i is lines[i]."""
        return (0, *(1 << index for index in range(len(self.states) - 1)))

    @property
    def level_patterns(self) -> tuple[tuple[int, ...], ...] | None:
        """For each state the duty of each of `lights`; None where any but 0 is its second state."""
        return None

    @property
    def lingers(self) -> bool:
        """Whether it may still be on when its gate has closed: a light that fades, a servo on its
        way to its rest."""
        return False

    def judged_as(self, state: int) -> int:
        """The state that a gate takes this one for when it decides."""
        return state

    @property
    def held_by(self) -> tuple[Ask | None, ...]:
        """For each of its states the position without which it is never in it, if there is one."""
        return (None,) * len(self.states)

    @property
    def longest_run_ticks(self) -> int | None:
        """How long it runs at most at a time, None for as long as it is asked to."""
        return None

    @property
    def moves(self) -> bool:
        """Whether it can pinch, cut or drag: such a function earns a caution."""
        return False

    def tables(self, plan: Plan) -> tuple[Table, ...]:
        """What it keeps in flash beside its row, each table of another kind."""
        del plan
        return ()

    def cells(self, plan: Plan) -> Cells:
        """Its row in the sketch's table."""
        raise NotImplementedError

    @property
    def answers(self) -> tuple[Answer, ...]:
        """What each position of its controls does to it, in words for a card or a page."""
        raise NotImplementedError

    def limits_in_words(self, plan: Plan) -> str:
        """Its own numbers in a person's units, as its comment in the sketch has them."""
        del plan
        return ""

    @property
    def loss_in_words(self) -> str:
        """What it does when the signal goes: "switches off"."""
        return LOSS_IN_WORDS[self.on_loss]


def seconds(ticks: int) -> str:
    """A time as people write it: 1600 ticks are "8 s", 3 are "0.015 s"."""
    whole, rest_ms = divmod(ticks * TICK_MS, 1_000)
    return f"{whole}.{rest_ms:03}".rstrip("0").rstrip(".") + " s"
