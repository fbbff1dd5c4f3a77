"""Winch: a motor that runs two ways, never both, never past its limits."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from gen.behaviours.base import Answer, Cells, DrivesKeys, Function, Loss, seconds
from gen.diagnostics import show
from gen.electric import DrumItem
from gen.plan import MAX_TICKS
from gen.read.keys import Located, Nested, key
from gen.read.kinds import (
    FELT,
    POSITION,
    Duration,
    DutyCycle,
    Plain,
    Trigger,
    TriggerText,
    ticks_text,
)
from gen.read.sections import Entries, Section

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask, Felt, Plan, StateOf
    from gen.resolve.context import Context, PairPlace


@dataclass(frozen=True, kw_only=True)
class WinchKeys(DrivesKeys):
    """A motor that runs two ways, only while held and never past its limits. Both ways at once is
    stop, and without a signal it always stops. What is left of the travel each way is kept between
    presses."""

    never: ClassVar[Mapping[str, str]] = {
        "on loss": "a winch always stops when the signal is lost",
        "remember": "what moves does not start by itself; 'unknown' keeps where the load is",
    }

    winch: Section[Located[str]] = key(
        Entries("way", POSITION, 2, 2, "the two ways of its pair, each with its position"),
        "for each way of its pair, the position that asks for it",
        required=True,
    )
    limit: Section[Located[int]] = key(
        Entries("way", Duration("8 s"), 2, 2, "the two ways of its pair, each with its time"),
        "for each way, how long the whole travel takes: it never runs longer",
        required=True,
    )
    pause: Located[int] = key(
        Duration("0.5 s", least_ticks=0),
        "how long the motor stands before it turns the other way",
        default="0.5 s",
    )

    unknown: Located[str] | None = key(
        Plain("both, or one way such as 'lower only'"),
        "where the load is, is kept over power-off. If nobody knows, because the power was cut"
        " while it ran, it may do only this until it has run to an end; unless given, nothing is"
        " kept and it may do both",
    )
    duty: Located[tuple[int, int]] | None = key(
        DutyCycle(), "how long the motor may run at a time, and rests then (IEC 60034-1 S3)"
    )

    ends: Section[Located[str]] | None = key(
        Entries("way", FELT, 1, 2, "one or both ways, each with what its end switch says"),
        "for a way, what a sensor says at its end, such as 'davit low closed': there it stops, and"
        " knows where the load is",
    )
    stall: Located[TriggerText] | None = key(
        Trigger(),
        "what a current sensor says while the motor is held fast, such as 'winch current above"
        " 1.2 V for 0.2 s': it stops until it is asked anew",
    )

    drum: DrumItem | None = key(
        Nested(DrumItem, "the keys of a drum"),
        "its drum and motor: `pinrail power` proposes limits",
    )

    def depends_on(self) -> tuple[Located[str], ...]:
        ends = self.ends.items.values() if self.ends is not None else ()
        return (*ends, *([] if self.stall is None else [_plain(self.stall)]))

    def resolve(self, to: Context) -> Winch | None:
        asks = {way: to.ask(self, position) for way, position in self.winch.items.items()}
        pair = to.pair(self)
        if pair is None or not self._ways_match(pair, to):
            return None
        first, second = (asks[way] for way in pair.ways)
        unknown = self._unknown(pair, to)
        ends = self._ends(pair, to)
        stall = None
        if self.stall is not None:
            stall = to.trigger(self, self.stall, self.stall.value.what)
            if stall is None or not self._counts(self.stall, to):
                return None
        if ends is None:
            return None
        if first is None or second is None or (self.unknown is not None and unknown is None):
            return None
        if first == second:
            second_place = self.winch.items[pair.ways[1]]
            to.problem(
                "same-position",
                second_place.place,
                f"function {show(self.name.value)}: one position asks for both ways",
                got=show(second_place.text),
            )
            return None
        return Winch(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss.OFF,
            source_line=self.place.line,
            first=first,
            second=second,
            ways=pair.ways,
            first_limit_ticks=self.limit.items[pair.ways[0]].value,
            second_limit_ticks=self.limit.items[pair.ways[1]].value,
            pause_ticks=self.pause.value,
            unknown=unknown,
            ends=ends,
            stall=stall,
            stall_ticks=self.stall.value.for_ticks if self.stall is not None else 0,
            duty=Duty.of(*self.duty.value) if self.duty is not None else None,
            drives=pair.index,
            pair_lines=pair.lines,
        )

    def _counts(self, stall: Located[TriggerText], to: Context) -> bool:
        """Whether the sketch can count so long; notes where it cannot."""
        if stall.value.for_ticks <= MAX_TICKS:
            return True
        to.problem(
            "out-of-range",
            stall.place,
            f"function {show(self.name.value)}: stall: the time is too long",
            got=show(stall.text),
            expected=f"at most {ticks_text(MAX_TICKS)}",
        )
        return False

    def _ends(
        self, pair: PairPlace, to: Context
    ) -> tuple[Felt | StateOf | None, Felt | StateOf | None] | None:
        """What says that an end is reached, each way; None after noting what is wrong."""
        found: dict[str, Felt | StateOf | None] = {}
        for way, text in self.ends.items.items() if self.ends is not None else ():
            if way not in pair.ways:
                assert self.ends is not None  # noqa: S101 - it has this way
                to.problem(
                    "ways-differ",
                    self.ends.places[way],
                    f"function {show(self.name.value)}: ends names no way of its pair",
                    got=show(way),
                    expected=" or ".join(pair.ways),
                )
                return None
            found[way] = to.trigger(self, text, text.value)
            if found[way] is None:
                return None
        return found.get(pair.ways[0]), found.get(pair.ways[1])

    def _unknown(self, pair: PairPlace, to: Context) -> tuple[bool, bool] | None:
        """Whether each way is allowed while the position is unknown."""
        if self.unknown is None:
            return None
        choices = {
            "both": (True, True),
            f"{pair.ways[0]} only": (True, False),
            f"{pair.ways[1]} only": (False, True),
        }
        if self.unknown.value not in choices:
            to.problem(
                "unknown-word",
                self.unknown.place,
                f"function {show(self.name.value)}: unknown is none of its ways",
                got=show(self.unknown.text),
                expected=" or ".join(choices),
            )
        return choices.get(self.unknown.value)

    def _ways_match(self, pair: PairPlace, to: Context) -> bool:
        """Whether winch and limits name the ways of the pair; notes where they do not."""
        usable = True
        sections: dict[str, Section[Any]] = {"winch": self.winch, "limit": self.limit}
        for label, section in sections.items():
            ways = section.items.keys()
            if ways != set(pair.ways):
                usable = False
                to.problem(
                    "ways-differ",
                    section.place,
                    f"function {show(self.name.value)}: {label} has not the ways of its pair",
                    got=" and ".join(sorted(ways)),
                    expected=" and ".join(pair.ways),
                )
        return usable


def _plain(trigger: Located[TriggerText]) -> Located[str]:
    return Located(trigger.value.what, trigger.text, trigger.place)


@dataclass(frozen=True, slots=True)
class Duty:
    """The warmth of a motor: `warms` is added in each tick that it runs, `cools` leaves in each
    that it stands. At `limit` it is stopped until all has left."""

    limit: int
    warms: int
    cools: int

    @classmethod
    def of(cls, percent: int, cycle_ticks: int) -> Duty:
        """It may run for so many percent of a cycle, and rests for the remainder."""
        shared = math.gcd(percent, 100)
        cools, warms = percent // shared, (100 - percent) // shared
        return cls(cycle_ticks * percent // 100 * warms, warms, cools)

    @property
    def run_ticks(self) -> int:
        """The longest run from cold."""
        return self.limit // self.warms

    @property
    def rest_ticks(self) -> int:
        """The rest after that."""
        return -(-self.limit // self.cools)


@dataclass(frozen=True, kw_only=True)
class Winch(Function):
    """Obeys only while held. A full travel takes `first_limit_ticks` one way and
    `second_limit_ticks` the other; what is left of it is kept between presses. The motor stands
    still for `pause_ticks` before it may turn the other way, and after power-up before it may turn
    at all. Both directions asked for, or the signal lost, is stop. `drives` is an index into
    `Plan.pairs`; `unknown` says which ways it may go while nobody knows where the load is (None:
    both, and what is known is not kept over power-off), and `duty` how long at a time. At one of
    its `ends` it stops and knows where it is. When `stall` has been so for more than `stall_ticks`
    while it runs, it stops until nothing is asked of it. `ways` are
    the ship's words for the two directions ("lower", "raise").
    """

    key: ClassVar[str] = "winch"
    memory_begins_from_plan: ClassVar[bool] = True
    written: ClassVar[type[FunctionKeys]] = WinchKeys

    first: Ask
    second: Ask
    ways: tuple[str, str]
    first_limit_ticks: int
    second_limit_ticks: int
    pause_ticks: int
    drives: int
    pair_lines: tuple[int, int]
    unknown: tuple[bool, bool] | None = None
    duty: Duty | None = None
    ends: tuple[Felt | StateOf | None, Felt | StateOf | None] = (None, None)
    stall: Felt | StateOf | None = None
    stall_ticks: int = 0

    @property
    def controls(self) -> tuple[int, ...]:
        return tuple(sorted({self.first.control, self.second.control}))

    @property
    def lines(self) -> tuple[int, ...]:
        return self.pair_lines

    @property
    def states(self) -> tuple[str, ...]:
        return ("stopped", *(gerund(way) for way in self.ways))

    @property
    def held_by(self) -> tuple[Ask | None, ...]:
        return None, self.first, self.second

    @property
    def longest_run_ticks(self) -> int:
        return max(self.first_limit_ticks, self.second_limit_ticks)

    @property
    def moves(self) -> bool:
        return True

    @property
    def type_name(self) -> str:
        more = (self.duty, self.unknown, *self.ends, self.stall)
        return "WinchMore" if any(one is not None for one in more) else "Winch"

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        return tuple(one for one in (*self.ends, self.stall) if one is not None)

    @property
    def bits(self) -> tuple[int, int, int]:
        """What the bits mean that it is told: the first end, the second one, held fast; 0 for
        what there is not."""
        made = []
        bit = 1
        for one in (*self.ends, self.stall):
            made.append(bit if one is not None else 0)
            bit <<= one is not None
        return made[0], made[1], made[2]

    @property
    def kept_bytes(self) -> int:
        return 4 if self.unknown is not None else 0

    @property
    def headers(self) -> tuple[str, ...]:
        return ("winch", "winch_more") if self.type_name == "WinchMore" else ("winch",)

    def _more(self) -> tuple[str, ...]:
        if self.type_name == "Winch":
            return ()
        first, second = ("true" if way else "false" for way in self.unknown or (True, True))
        duty = self.duty or Duty(0, 0, 0)
        return (
            f"Unknown{{{first}, {second}}}",
            f"Duty{{{duty.limit}, {duty.warms}, {duty.cools}}}",
            f"Felt{{{', '.join(map(str, self.bits))}}}",
            f"StallTicks{{{self.stall_ticks}}}",
        )

    def _more_remark(self) -> str:
        words = ""
        if self.unknown is not None and not all(self.unknown):
            words = f", {self.ways[self.unknown.index(True)]} only until an end is reached"
        if any(end is not None for end in self.ends):
            words += ", end switches"
        if self.stall is not None:
            words += ", stops when held fast"
        if self.duty is not None:
            run, rest = seconds(self.duty.run_ticks), seconds(self.duty.rest_ticks)
            words += f", {run} at a time, then {rest} rest"
        return words

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.ask_code(self.first), plan.ask_code(self.second)),
            limits=(
                f"RunTicks{{{self.first_limit_ticks}, {self.second_limit_ticks}}}",
                f"PauseTicks{{{self.pause_ticks}}}",
                *self._more(),
            ),
            drives=(plan.pairs[self.drives].code,),
            on_loss=(),
            remark=f"{self.limits_in_words(plan)}; stops without signal",
        )

    @property
    def answers(self) -> tuple[Answer, ...]:
        asks = (self.first, self.second)
        return tuple(
            Answer(ask.control, ask.position, f"{state} while held")
            for ask, state in zip(asks, self.states[1:], strict=True)
        )

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        return (
            f"{self.ways[0]} {seconds(self.first_limit_ticks)}, "
            f"{self.ways[1]} {seconds(self.second_limit_ticks)}, "
            f"pause {seconds(self.pause_ticks)}{self._more_remark()}"
        )

    @property
    def loss_in_words(self) -> str:
        return "stops"


def gerund(way: str) -> str:
    """What a winch is doing while it goes `way`: "lower" -> "lowering", "pay out" -> "paying out".

    English spelling: a silent e is dropped ("raise"), a short last syllable doubles ("let go").
    """
    verb, _, rest = way.partition(" ")
    if verb.endswith("e") and not verb.endswith(("ee", "oe", "ye")):
        verb = verb[:-1]
    elif (
        len(verb) == 3  # "let", "run", "dip": consonant, vowel, consonant
        and verb[-1] not in "aeiouwxy"
        and verb[-2] in "aeiou"
        and verb[-3] not in "aeiou"
    ):
        verb += verb[-1]
    return f"{verb}ing {rest}".strip()
