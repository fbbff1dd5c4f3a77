"""Rhythm: a light or a sound in a pattern, for as long as something else is so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, Cells, DrivesKeys, Function, Loss, Table, seconds
from gen.behaviours.remembering import KEPT_BYTES, REMEMBER, check_remember_pressed
from gen.behaviours.trigger import TRIGGER, Trigger, resolve_trigger
from gen.diagnostics import show
from gen.read.keys import Located, Scalar, key
from gen.read.kinds import Words, YesNo
from gen.rhythms import read_rhythm
from gen.rhythms.reader import WORDS

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Felt, Plan, StateOf
    from gen.read.keys import JsonSchema
    from gen.resolve.context import Context
    from gen.rhythms import Pattern


class Rhythms(Scalar["Pattern"]):
    """A light or sound pattern."""

    words = WORDS

    def parse(self, text: str) -> Pattern:
        return read_rhythm(text)

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number"], "description": self.words}


@dataclass(frozen=True, kw_only=True)
class RhythmKeys(DrivesKeys):
    """A light or a sound in a pattern, exact to the tick: characters of light lists, Morse text,
    sound signals, or times. It begins at its beginning each time it is switched on."""

    rhythm: Located[Pattern] = key(Rhythms(), "the pattern", required=True)
    when: Located[str] = key(TRIGGER, "what switches it on", default="always")
    phase: Located[str] = key(
        Words("restart", "keep"),
        "keep: it goes on unseen while it is off, as two lights in step do",
        default="restart",
    )
    on_loss: Located[str] = key(
        Words(*Loss), "what it does while the signal is lost", default="off"
    )
    remember: Located[bool] = key(YesNo(), REMEMBER, default="no")

    def depends_on(self) -> tuple[Located[str], ...]:
        return (self.when,)

    def resolve(self, to: Context) -> Rhythm | None:
        trigger = resolve_trigger(self, self.when, to)
        check_remember_pressed(self, self.remember, trigger, to)
        drives = to.line(self)
        pattern = self.rhythm.value
        keeps = self.phase.value == "keep"
        if keeps and not pattern.repeats:
            to.problem(
                "rhythm-rule",
                self.phase.place,
                f"function {show(self.name.value)}: a pattern that comes once has no phase to keep",
                got=show(self.rhythm.text),
                expected="a pattern that repeats",
            )
        if self.remember.value and not pattern.repeats:
            to.problem(
                "remember-nothing",
                self.remember.place,
                f"function {show(self.name.value)}: a pattern that comes once is over by then",
                got=show(self.rhythm.text),
                expected="a pattern that repeats",
            )
        if trigger is None or drives is None:
            return None
        return Rhythm(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            trigger=trigger,
            phases_ticks=pattern.phases_ticks,
            begins_on=pattern.begins_on,
            repeats=pattern.repeats,
            keeps_phase=keeps,
            remember=self.remember.value,
            drives=drives,
            text=" ".join(self.rhythm.text.split()),
        )


@dataclass(frozen=True, kw_only=True)
class Rhythm(Function):
    """On and off in turn for `phases_ticks` while `trigger` holds; the first is on if `begins_on`.
    At the end it begins again if it `repeats`; else it stays off, and a pressed trigger is done.
    With `keeps_phase` it goes on from power-up whether it is seen or not. `remember`: what was on
    begins anew at power-up. `text` is how it was written."""

    key: ClassVar[str] = "rhythm"
    written: ClassVar[type[FunctionKeys]] = RhythmKeys

    trigger: Trigger
    phases_ticks: tuple[int, ...]
    begins_on: bool
    repeats: bool
    keeps_phase: bool
    drives: int
    text: str
    remember: bool = False

    @property
    def kept_bytes(self) -> int:
        return KEPT_BYTES if self.remember else 0

    @property
    def controls(self) -> tuple[int, ...]:
        return self.trigger.controls

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        return self.trigger.conditions

    @property
    def lines(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def states(self) -> tuple[str, ...]:
        return ("off", "on", "pausing")

    @property
    def forces(self) -> tuple[str, ...]:
        return ("off", "on")  # when it pauses is the pattern's business

    @property
    def patterns(self) -> tuple[int, ...]:
        return (0, 1, 0)

    def judged_as(self, state: int) -> int:
        return min(state, 1)  # whether its pattern pauses just now is not asked

    def tables(self, plan: Plan) -> tuple[Table, ...]:
        del plan
        return (Table("phases", "uint16_t", tuple(map(str, self.phases_ticks))),)

    def cells(self, plan: Plan) -> Cells:
        begins = "Begins::on" if self.begins_on else "Begins::off"
        after = "After::stop" if not self.repeats else "After::repeat"
        if self.keeps_phase:
            after = "After::never_rest"
        return Cells(
            asked_by=(self.trigger.cell(plan),),
            limits=(f"Phases{{phases::{self.code}, {len(self.phases_ticks)}, {begins}, {after}}}",),
            drives=(plan.lines[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=self._pattern_in_words,
        )

    @property
    def _pattern_in_words(self) -> str:
        whole = "" if len(self.phases_ticks) == 1 else f", {seconds(sum(self.phases_ticks))}"
        return f"{self.text}{whole}"

    @property
    def answers(self) -> tuple[Answer, ...]:
        return self.trigger.answers

    def limits_in_words(self, plan: Plan) -> str:
        return "; ".join(filter(None, (self.trigger.in_words(plan), self._pattern_in_words)))
