"""Sequence: steps that drive several outputs one after another, started by one press."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, Cells, Function, FunctionKeys, Loss, Table, seconds
from gen.diagnostics import nearest, show
from gen.plan import NO_LINE
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, Duration, Text, Words
from gen.read.sections import Listed
from gen.units import Wrong

if TYPE_CHECKING:
    from gen.plan import Ask, Felt, Plan, StateOf
    from gen.resolve.context import Context

MOST_LEGS = 100
MOST_OUTPUTS = 8
MOST_WAITS = 16
NO_WAIT = 255
"""The number of a leg's condition when it has none."""

STEP_WORDS = (
    "'horn on', 'horn off', 'horn on for 2 s', 'wait 2 s', "
    "'wait until pump on within 10 s else abort' or '… else go on'"
)
TIME = Duration("2 s")
_UNTIL = re.compile(
    r"wait until (?P<doing>.+?)(?: within (?P<within>.+?) else (?P<late>abort|go on))?"
)
_SWITCH = re.compile(r"(?P<output>.+) (?P<on>on|off)(?: for (?P<time>.+))?")


@dataclass(frozen=True, slots=True)
class Leg:
    """What is on (a bit for each of the function's lines) for how many ticks, 0 for ever.

    With `until`, an index into the function's conditions, it ends as soon as that is so; if its
    ticks run out before, the sequence `aborts` or goes on.
    """

    on: int
    ticks: int
    until: int | None
    aborts: bool
    source_line: int = NO_LINE


@dataclass(frozen=True, kw_only=True)
class SequenceKeys(FunctionKeys):
    """Steps that drive several outputs one after another, from one press. What is on at the last
    step stays on until it is aborted. A pair of two ways is not for sequences: a winch has limits.
    """

    sequence: Located[str] = key(POSITION, "the position that starts it", required=True)
    abort: Located[str] | None = key(POSITION, "the position that ends it, everything off")
    steps: tuple[Located[str], ...] = key(
        Listed(Text(f"a step such as {STEP_WORDS}", 160), f"a list of steps such as {STEP_WORDS}"),
        "what happens, one after another",
        required=True,
    )
    on_loss: Located[str] = key(
        Words(Loss.OFF, Loss.KEEP),
        "what it does while the signal is lost: abort, or go on",
        default="off",
    )

    def depends_on(self) -> tuple[Located[str], ...]:
        texts = []
        for step in self.steps:
            match = _UNTIL.fullmatch(step.value)
            if match is not None:
                texts.append(Located(match["doing"], step.text, step.place))
        return tuple(texts)

    def driven(self) -> tuple[Located[str], ...]:
        matches = [(step, _SWITCH.fullmatch(step.value)) for step in self.steps]
        return tuple(Located(m["output"], m["output"], step.place) for step, m in matches if m)

    def resolve(self, to: Context) -> Sequence | None:
        ask = to.ask(self, self.sequence)
        abort = to.ask(self, self.abort) if self.abort is not None else None
        legs = _Legs(self, to)
        for step in self.steps:
            legs.add(step)
        if ask is None or not legs.usable or (self.abort is not None and abort is None):
            return None
        made = legs.finished()
        label = f"function {show(self.name.value)}"
        if ask == abort and self.abort is not None:
            to.problem(
                "same-position",
                self.abort.place,
                f"{label}: one position starts and aborts it",
                got=show(self.abort.text),
            )
        if legs.left_on and self.abort is None:
            left = " and ".join(legs.left_on)
            to.problem(
                "never-off",
                self.place,
                f"{label}: nothing ever ends it",
                got=f"{left} left on",
                expected="'abort: ' and a position, or a last step that switches them off",
            )
        counts = (
            (len(made), MOST_LEGS, "legs"),
            (len(legs.lines), MOST_OUTPUTS, "outputs"),
            (len(legs.waits), MOST_WAITS, "conditions"),
            (len({leg.on for leg in made}), 15, "states"),
        )
        for count, most, words in counts:
            if count > most:
                to.problem(
                    "wrong-count",
                    self.steps[0].place,
                    f"{label}: its steps make too many {words}",
                    got=str(count),
                    expected=f"at most {most}",
                )
        if not made or not legs.lines:
            to.problem(
                "wrong-count",
                self.place,
                f"{label}: its steps switch nothing",
                expected="at least one output on for a time",
            )
            return None
        return Sequence(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            ask=ask,
            abort=abort,
            own_lines=tuple(legs.lines),
            line_names=tuple(legs.names),
            legs=tuple(made),
            waits=tuple(legs.waits),
        )


class _Legs:
    """Turns steps into legs, keeping in mind what is on."""

    def __init__(self, keys: SequenceKeys, to: Context) -> None:
        self.keys = keys
        self.to = to
        self.label = f"function {show(keys.name.value)}"
        self.lines: list[int] = []
        self.names: list[str] = []
        self.waits: list[Felt | StateOf] = []
        self.usable = True
        self._on = 0
        self._made: list[Leg] = []

    def add(self, step: Located[str]) -> None:
        """One step; notes what is wrong with it."""
        text = " ".join(step.value.split())
        line = step.place.line
        if (match := _UNTIL.fullmatch(text)) is not None:
            self._wait_until(step, match)
        elif text.startswith("wait "):
            ticks = self._time(step, text.removeprefix("wait "))
            self._made.append(Leg(self._on, ticks, None, False, line))
        elif (match := _SWITCH.fullmatch(text)) is not None:
            bit = self._line(step, match["output"])
            if match["time"] is None:
                self._on = self._on | bit if match["on"] == "on" else self._on & ~bit
                return
            ticks = self._time(step, match["time"])
            during = self._on | bit if match["on"] == "on" else self._on & ~bit
            self._made.append(Leg(during, ticks, None, False, line))
            self._on = during ^ bit
        else:
            self.to.problem(
                "sequence-step",
                step.place,
                f"{self.label}: no step of a sequence is written so",
                got=show(step.text),
                expected=STEP_WORDS,
                hint=nearest(text.split(" ")[0], ["wait"], most_listed=0),
            )
            self.usable = False

    def finished(self) -> list[Leg]:
        """All legs; what is on at the end stays on."""
        if self._on:
            self._made.append(Leg(self._on, 0, None, False))
        return self._made

    @property
    def left_on(self) -> list[str]:
        """The outputs that are on behind the last step."""
        return [name for index, name in enumerate(self.names) if self._on >> index & 1]

    def _wait_until(self, step: Located[str], match: re.Match[str]) -> None:
        of = self.to.trigger(self.keys, step, match["doing"])
        ticks = self._time(step, match["within"]) if match["within"] else 0
        if of is None:
            self.usable = False
            return
        if of not in self.waits:
            self.waits.append(of)
        until, aborts = self.waits.index(of), match["late"] == "abort"
        self._made.append(Leg(self._on, ticks, until, aborts, step.place.line))

    def _line(self, step: Located[str], output: str) -> int:
        """The bit of this output."""
        if output not in self.names:
            line = self.to.line_named(self.keys, Located(output, output, step.place))
            if line is None:
                self.usable = False
                return 0
            self.names.append(output)
            self.lines.append(line)
        return 1 << self.names.index(output)

    def _time(self, step: Located[str], text: str) -> int:
        try:
            return TIME.parse(text)
        except Wrong as wrong:
            self.to.complain(step.place, f"{self.label}: the time", text, wrong)
            self.usable = False
            return 1


@dataclass(frozen=True, kw_only=True)
class Sequence(Function):
    """Goes through `legs` from a press of `ask`; `abort` ends it. Bit i of a leg is line i of
    `own_lines`, whose names are `line_names`; a leg's `until` is an index into `waits`."""

    key: ClassVar[str] = "sequence"
    written: ClassVar[type[FunctionKeys]] = SequenceKeys

    ask: Ask
    abort: Ask | None
    own_lines: tuple[int, ...]
    line_names: tuple[str, ...]
    legs: tuple[Leg, ...]
    waits: tuple[Felt | StateOf, ...]

    @property
    def controls(self) -> tuple[int, ...]:
        return tuple(sorted({one.control for one in (self.ask, self.abort) if one is not None}))

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        return self.waits

    @property
    def lines(self) -> tuple[int, ...]:
        return self.own_lines

    @property
    def shown(self) -> tuple[int, ...]:
        """What is on in each state but the first, in the order in which they come."""
        return tuple(dict.fromkeys(leg.on for leg in self.legs))

    @property
    def states(self) -> tuple[str, ...]:
        """Off, and what is on: "ignition and starter", or "waiting" with nothing on."""
        names = [
            " and ".join(name for bit, name in enumerate(self.line_names) if on >> bit & 1)
            for on in self.shown
        ]
        return ("off", *(name or "waiting" for name in names))

    @property
    def patterns(self) -> tuple[int, ...]:
        return (0, *self.shown)

    @property
    def moves(self) -> bool:
        return True

    def tables(self, plan: Plan) -> tuple[Table, ...]:
        rows = []
        for leg in self.legs:
            until = NO_WAIT if leg.until is None else leg.until
            late = "Late::abort" if leg.aborts else "Late::go_on"
            state = self.shown.index(leg.on) + 1
            rows.append(f"{{0x{leg.on:02x}, {state}, {leg.ticks}, {until}, {late}}}")
        lines = tuple(plan.lines[line].code for line in self.own_lines)
        return (Table("lines_of", "Line", lines), Table("legs", "Leg", tuple(rows)))

    def cells(self, plan: Plan) -> Cells:
        abort = plan.ask_code(self.abort) if self.abort is not None else "Ask()"
        drives = ", ".join(self.line_names)
        return Cells(
            asked_by=(plan.ask_code(self.ask), abort),
            limits=(f"Legs{{legs::{self.code}, {len(self.legs)}}}",),
            drives=(f"Lines{{lines_of::{self.code}, {len(self.own_lines)}}}",),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=f"{self.limits_in_words(plan)}; drives {drives}",
        )

    @property
    def answers(self) -> tuple[Answer, ...]:
        made = [Answer(self.ask.control, self.ask.position, "begins, and runs by itself")]
        if self.abort is not None:
            made.append(Answer(self.abort.control, self.abort.position, "ends, all of it off"))
        return tuple(made)

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        timed = sum(leg.ticks for leg in self.legs if leg.until is None)
        return f"{len(self.legs)} legs, {seconds(timed)}"

    @property
    def loss_in_words(self) -> str:
        return "goes on to its end" if self.on_loss is Loss.KEEP else "ends, all of it off"
