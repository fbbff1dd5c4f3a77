"""Winch: a motor that runs two ways, never both, never past its limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Cells, Function, seconds

if TYPE_CHECKING:
    from gen.plan import Ask, Plan


@dataclass(frozen=True, kw_only=True)
class Winch(Function):
    """Obeys only while held. A full travel takes `first_limit_ticks` one way and
    `second_limit_ticks` the other; what is left of it is kept between presses. The motor stands
    still for `pause_ticks` before it may turn the other way, and after power-up before it may turn
    at all. Both directions asked for, or the signal lost, is stop. `drives` is an index into
    `Plan.pairs`; `ways` are the ship's words for the two directions ("lower", "raise").
    """

    key: ClassVar[str] = "winch"

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
        len(verb) == 3  # noqa: PLR2004 - "let", "run", "dip": consonant, vowel, consonant
        and verb[-1] not in "aeiouwxy"
        and verb[-2] in "aeiou"
        and verb[-3] not in "aeiou"
    ):
        verb += verb[-1]
    return f"{verb}ing {rest}".strip()
