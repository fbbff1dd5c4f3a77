"""Winch: a motor that runs two ways, never both, never past its limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from gen.behaviours.base import Cells, DrivesKeys, Function, Loss, seconds
from gen.diagnostics import show
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, Duration
from gen.read.sections import Entries, Section

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask, Plan
    from gen.resolve.context import Context, PairPlace


@dataclass(frozen=True, kw_only=True)
class WinchKeys(DrivesKeys):
    """A motor that runs two ways, only while held and never past its limits. Both ways at once is
    stop, and without a signal it always stops. What is left of the travel each way is kept between
    presses."""

    never: ClassVar[Mapping[str, str]] = {"on loss": "a winch always stops when the signal is lost"}

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

    def resolve(self, to: Context) -> Winch | None:
        asks = {way: to.ask(self, position) for way, position in self.winch.items.items()}
        pair = to.pair(self)
        if pair is None or not self._ways_match(pair, to):
            return None
        first, second = (asks[way] for way in pair.ways)
        if first is None or second is None:
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
            drives=pair.index,
            pair_lines=pair.lines,
        )

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


@dataclass(frozen=True, kw_only=True)
class Winch(Function):
    """Obeys only while held. A full travel takes `first_limit_ticks` one way and
    `second_limit_ticks` the other; what is left of it is kept between presses. The motor stands
    still for `pause_ticks` before it may turn the other way, and after power-up before it may turn
    at all. Both directions asked for, or the signal lost, is stop. `drives` is an index into
    `Plan.pairs`; `ways` are the ship's words for the two directions ("lower", "raise").
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
    def moves(self) -> bool:
        return True

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.ask_code(self.first), plan.ask_code(self.second)),
            limits=(
                f"RunTicks{{{self.first_limit_ticks}, {self.second_limit_ticks}}}",
                f"PauseTicks{{{self.pause_ticks}}}",
            ),
            drives=(plan.pairs[self.drives].code,),
            on_loss=(),
            remark=(
                f"{self.ways[0]} {seconds(self.first_limit_ticks)}, "
                f"{self.ways[1]} {seconds(self.second_limit_ticks)}, "
                f"pause {seconds(self.pause_ticks)}; stops without signal"
            ),
        )


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
