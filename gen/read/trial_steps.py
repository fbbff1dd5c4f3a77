"""The language of trials: one line of words -> one typed step.

    press CONTROL POSITION [for TIME]      hold CONTROL POSITION       release CONTROL
    move CONTROL to WIDTH | PERCENT        wait TIME                   send CHANNEL WIDTH
    set SENSOR to VOLTAGE                  close SENSOR                open SENSOR
    lose signal [on CHANNEL]               signal returns [on CHANNEL] power up
    cut power
    expect FUNCTION STATE [within TIME | for TIME]
    expect FUNCTION at WIDTH | WIDTH..WIDTH [within TIME | for TIME]
    expect FUNCTION at PERCENT [within TIME | for TIME]
    expect everything off | at rest [within TIME | for TIME]

Names hold spaces and may begin with one another, so that a line is read from the left with the
longest name of the plan that fits. Every step that moves a control lasts until the move is seen;
host_tools/trial.py says how a step becomes pulses.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypeVar

from gen import units
from gen.diagnostics import nearest, nearest_start, show
from gen.lightness import brightness_of
from gen.plan import MOST_COUNTS, AnalogueSensor, DigitalSensor
from gen.read.steps import (
    AllIdle,
    AtLevel,
    AtWidth,
    Claim,
    CutPower,
    Expect,
    Hold,
    InState,
    LoseSignal,
    Move,
    PowerUp,
    Press,
    Send,
    Sense,
    SignalReturns,
    Step,
    Trial,
    Wait,
)
from gen.response import press_ticks

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from gen.behaviours import Function
    from gen.diagnostics import Problems
    from gen.plan import Plan
    from gen.ship import Ship

PRESS_TICKS = 60
"""A press of 0.3 s, when the step names no time: about what a thumb does. On a shared channel a
thumb must wait until it is seen."""

MAX_STEP_TICKS = 720_000
"""The longest time that one step may take: an hour."""


MAX_TRIAL_TICKS = 24 * MAX_STEP_TICKS
"""The longest time that all steps of a trial may name together: a day."""


class StepError(ValueError):
    """A step cannot be read. `offset` counts characters from the step's first; the rest is as in
    `gen.diagnostics.Problem`.
    """

    def __init__(
        self,
        code: str,
        offset: int,
        what: str,
        *,
        got: str = "",
        expected: str = "",
        hint: str = "",
    ) -> None:
        super().__init__(what)
        self.code = code
        self.offset = offset
        self.what = what
        self.got = show(got) if got else ""
        self.expected = expected
        self.hint = hint


def parse_step(text: str, source_line: int, plan: Plan) -> Step:
    """Read one step of a trial of `plan`. Raises StepError."""
    return _StepReader(text, source_line, plan).read()


def read_trials(ship: Ship, plan: Plan, problems: Problems) -> tuple[Trial, ...]:
    """Every trial of a ship file, in its order; what cannot be read goes to `problems`."""
    trials = []
    for name, lines in ship.trials.items.items() if ship.trials else ():
        steps = []
        for line in lines:
            try:
                steps.append(parse_step(line.value, line.place.line, plan))
            except StepError as error:
                problems.add(
                    error.code,
                    line.place_of(error.offset) if line.value == line.text else line.place,
                    f"trial {show(name)}: {error.what}",
                    got=error.got,
                    expected=error.expected,
                    hint=error.hint,
                )
        misplaced = out_of_place(steps) if len(steps) == len(lines) else None
        if misplaced:
            line = lines[misplaced[0]]
            problems.add(
                "step-order",
                line.place,
                f"trial {show(name)}: {misplaced[1]}",
                got=show(line.value),
            )
        if steps:
            trials.append(Trial(name, tuple(steps), steps[0].source_line))
    return tuple(trials)


def out_of_place(steps: Sequence[Step]) -> tuple[int, str] | None:
    """The first step that stands where it cannot, and why; None when all is well."""
    powered = next((i for i, step in enumerate(steps) if isinstance(step, PowerUp)), -1)
    lasted = 0
    for index, step in enumerate(steps):
        lasted += getattr(step, "ticks", 0)
        if lasted > MAX_TRIAL_TICKS:
            return index, "up to here the trial lasts longer than a day"
        if index > powered >= 0 and isinstance(step, PowerUp):
            return index, "a trial powers up only once"
        if index < powered and not isinstance(step, Hold | Move | LoseSignal | Sense):
            return index, (
                "before 'power up' a trial can only move controls, set sensors and lose signal"
            )
    return None


_S = TypeVar("_S", bound=Step)
_Q = TypeVar("_Q")
_Sensor = TypeVar("_Sensor", AnalogueSensor, DigitalSensor)
_NAMES_SHOWN = 8


class _StepReader:
    def __init__(self, text: str, source_line: int, plan: Plan) -> None:
        self.text = text
        self.source_line = source_line
        self.plan = plan
        self.at = 0
        self.controls = [control.name for control in plan.controls]
        self.channels = [channel.name for channel in plan.channels]

    def read(self) -> Step:
        verbs: dict[str, Callable[[], Step]] = {
            "press": self._press,
            "hold": self._hold,
            "release": self._release,
            "move": self._move,
            "wait": self._wait,
            "lose": self._lose,
            "signal": self._returns,
            "send": self._send,
            "set": self._set,
            "close": lambda: self._contact(closed=True),
            "open": lambda: self._contact(closed=False),
            "power": self._power_up,
            "cut": self._cut_power,
            "expect": self._expect,
        }
        verb = re.match(r"\s*(\S*)", self.text)[1]  # type: ignore[index]  # it matches any text
        if verb not in verbs:
            raise StepError(
                "unknown-step",
                0,
                "no step begins with this word",
                got=verb,
                expected=", ".join(verbs),
                hint=nearest(verb, verbs, most_listed=0),
            )
        self._skip(verb)
        step = verbs[verb]()
        if self._rest:
            raise self._wrong("step-shape", "the step should end here", got=self._rest)
        return step

    # One method a verb.

    def _press(self) -> Step:
        control, position = self._control_and_position()
        usual = max(PRESS_TICKS, press_ticks(self.plan, self.plan.controls[control]))
        ticks = self._ticks() if self._next_is("for") else usual
        return self._step(Press, control=control, position=position, ticks=ticks)

    def _hold(self) -> Step:
        control, position = self._control_and_position()
        return self._step(Hold, control=control, position=position)

    def _release(self) -> Step:
        control = self._name("control", self.controls)
        return self._step(Hold, control=control, position=self.plan.controls[control].rest)

    def _move(self) -> Step:
        index = self._name("control", self.controls)
        self._need("to")
        control = self.plan.controls[index]
        if "%" not in self._rest:
            return self._step(Move, control=index, half_us=self._measured(units.half_us))
        if not control.proportional:
            raise self._wrong(
                "step-shape",
                f"{show(control.name)} has positions, not a travel to take a share of",
                got=self._rest,
                expected=units.WIDTH.expected,
            )
        return self._step(
            Move,
            control=index,
            half_us=self._measured(lambda text: _share(text, *control.ends_half_us)),
        )

    def _wait(self) -> Step:
        return self._step(Wait, ticks=self._ticks())

    def _lose(self) -> Step:
        self._need("signal")
        return self._step(LoseSignal, channels=self._on_channels())

    def _returns(self) -> Step:
        self._need("returns")
        return self._step(SignalReturns, channels=self._on_channels())

    def _send(self) -> Step:
        channel = self._name("channel", self.channels)
        return self._step(Send, channel=channel, half_us=self._measured(units.half_us))

    def _set(self) -> Step:
        sensor, index = self._sensor(AnalogueSensor)
        self._need("to")
        return self._step(
            Sense, sensor=index, reading=self._measured(lambda text: _counts(text, sensor))
        )

    def _contact(self, *, closed: bool) -> Step:
        sensor, index = self._sensor(DigitalSensor)
        return self._step(Sense, sensor=index, reading=int(closed != sensor.active_low))

    def _sensor(self, kind: type[_Sensor]) -> tuple[_Sensor, int]:
        """A sensor of this kind, and its place among all."""
        found = [
            (sensor, index)
            for index, sensor in enumerate(self.plan.sensors)
            if isinstance(sensor, kind)
        ]
        word = "analogue sensor" if kind is AnalogueSensor else "digital sensor"
        return found[self._name(word, [sensor.name for sensor, _ in found])]

    def _cut_power(self) -> Step:
        self._need("power")
        return self._step(CutPower)

    def _power_up(self) -> Step:
        self._need("up")
        return self._step(PowerUp)

    def _expect(self) -> Step:
        claim = self._claim()
        ticks, throughout = 0, False
        if self._next_is("within"):
            ticks = self._ticks()
        elif self._next_is("for"):
            ticks, throughout = self._ticks(), True
        return self._step(Expect, claim=claim, ticks=ticks, throughout=throughout)

    def _claim(self) -> Claim:
        functions = self.plan.functions
        if self._next_is("everything"):
            return AllIdle(servos_too=self._name("state", ("off", "at rest")) == 1)
        owners = [
            (function.name, ["at", *function.states] if _measured_at(function) else function.states)
            for function in functions
        ]
        index = self._owner("function", owners)
        if functions[index].servos and re.match(r"at\s+[0-9]", self._rest):
            self._need("at")
            return self._width_claim(index)
        if functions[index].lights and re.match(r"at\s+[0-9]", self._rest):
            self._need("at")
            return AtLevel(index, self._measured(_brightness))
        return InState(index, self._name("state", functions[index].states))

    def _width_claim(self, function: int) -> AtWidth:
        if ".." in self._rest:
            low, high = self._measured(units.half_us_range)
            return AtWidth(function, low, high)
        width = self._measured(units.half_us)
        return AtWidth(function, width, width)

    # The parts of a step.

    def _step(self, kind: type[_S], **parts: Any) -> _S:
        return kind(text=self.text, source_line=self.source_line, **parts)

    @property
    def _rest(self) -> str:
        return self.text[self.at :].strip()

    def _skip(self, words: str) -> None:
        self.at = self.text.index(words, self.at) + len(words)

    def _next_is(self, word: str) -> bool:
        found = _begins(self._rest, word)
        if found:
            self._skip(word)
        return found

    def _need(self, word: str) -> None:
        if not self._next_is(word):
            raise self._wrong(
                "step-shape", "a word is missing", got=self._rest, expected=show(word)
            )

    def _control_and_position(self) -> tuple[int, int]:
        owners = [
            (control.name, [position.name for position in control.positions])
            for control in self.plan.controls
        ]
        control = self._owner("control", owners)
        return control, self._name("position", owners[control][1])

    def _owner(self, kind: str, owners: Sequence[tuple[str, Sequence[str]]]) -> int:
        """The longest name that fits and is followed by one of its own parts, else the longest
        that fits: with "deck" and "deck key", "deck key up" is the key's.
        """
        for index in self._fitting([name for name, _ in owners]):
            name, parts = owners[index]
            after = self._rest[len(name) :].strip()
            if any(_begins(after, part) for part in parts):
                self._skip(name)
                return index
        return self._name(kind, [name for name, _ in owners])

    def _name(self, kind: str, names: Sequence[str]) -> int:
        for index in self._fitting(names):
            self._skip(names[index])
            return index
        rest = self._rest
        shown = ", ".join(names) if len(names) <= _NAMES_SHOWN else f"a {kind} of this ship"
        what = f"no {kind} has this name" if rest else f"the {kind} is missing"
        raise self._wrong(
            "unknown-name", what, got=rest, expected=shown, hint=nearest_start(rest, names)
        )

    def _fitting(self, names: Sequence[str]) -> list[int]:
        rest = self._rest
        fitting = [index for index, name in enumerate(names) if _begins(rest, name)]
        return sorted(fitting, key=lambda index: -len(names[index]))

    def _on_channels(self) -> tuple[int, ...]:
        if self._next_is("on"):
            return (self._name("channel", self.channels),)
        return tuple(range(len(self.channels)))

    def _ticks(self) -> int:
        return self._measured(_step_ticks)

    def _measured(self, convert: Callable[[str], _Q]) -> _Q:
        """Takes a number and its unit, up to the words that may follow it."""
        text = re.split(r"\s+(?:within|for)\b", self._rest, maxsplit=1)[0]
        try:
            value = convert(text)
        except units.Wrong as wrong:
            raise self._wrong(
                wrong.code,
                f"the step {wrong.what}" if text else "the step ends too early",
                got=text,
                expected=wrong.expected,
                hint=wrong.hint,
            ) from wrong
        self._skip(text)
        return value

    def _wrong(
        self, code: str, what: str, *, got: str = "", expected: str = "", hint: str = ""
    ) -> StepError:
        blanks = len(self.text[self.at :]) - len(self.text[self.at :].lstrip())
        return StepError(code, self.at + blanks, what, got=got, expected=expected, hint=hint)


def _measured_at(function: Function) -> bool:
    """Whether a function can be at some place or brightness."""
    return bool(function.servos or function.lights)


def _brightness(text: str) -> int:
    percent, _ = units.quantity(text, units.PERCENT)
    if percent > 100:
        raise units.Wrong("out-of-range", "is brighter than can be", "0 % to 100 %")
    return brightness_of(int(percent * 100))


def _begins(text: str, words: str) -> bool:
    return text.startswith(words) and text[len(words) :][:1] in ("", " ", "\t")


def _step_ticks(text: str) -> int:
    ticks = units.ticks(units.quantity(text, units.TIME)[0])
    if not 1 <= ticks <= MAX_STEP_TICKS:
        raise units.Wrong("out-of-range", "is too short or too long", "5 ms to 60 min")
    return ticks


def _counts(text: str, sensor: AnalogueSensor) -> int:
    """What a voltage reads, to the whole count below."""
    size_mv, _ = units.quantity(text, units.VOLTAGE)
    reading = int(size_mv * 1000 * (MOST_COUNTS + 1) // sensor.full_scale_uv)
    if reading > MOST_COUNTS:
        most = units.decimal_text(Decimal(sensor.full_scale_uv // 10_000) / 100)
        raise units.Wrong("out-of-range", "is more than the sensor can measure", f"below {most} V")
    return reading


def _share(text: str, low_half_us: int, high_half_us: int) -> int:
    """The width at a share of a travel, to the half microsecond."""
    percent, _ = units.quantity(text, units.PERCENT)
    if percent > 100:
        raise units.Wrong("out-of-range", "goes beyond the end of the travel", "0 % to 100 %")
    return low_half_us + round((high_half_us - low_half_us) * percent / 100)
