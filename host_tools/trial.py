"""Trials: expectations in the ship's own words, turned into a trace and judged on any rung.

A trial is open loop: its pulses never depend on what the ship answers, so that one trace serves
every rung. Unless it says `power up`, it begins half a second after power-up with every control at
rest (longer where a shared channel takes longer to be understood). A step that moves a control
lasts until the control has surely been seen there: its settle pulses and two frames, or cycles,
more; one that opens or closes a contact until that is believed. `set` and `lose signal` take no
time, `send` takes one frame. Sensors begin where they set nothing off.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.lightness import FULL
from gen.plan import DigitalSensor
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
from host_tools.record import Record
from host_tools.states import Doing, Mark, show_time, show_us
from host_tools.transmitter import Transmitter

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from gen.plan import Control, Plan
    from host_tools.record import Rung
    from host_tools.trace import Trace

REST_TICKS = 100
"""How long everything lies at rest before the first step: 0.5 s."""


@dataclass(frozen=True)
class Expectation:
    """What `step` claims, about the ticks `first` to `last`, both included."""

    step: Expect
    first: int
    last: int


@dataclass(frozen=True)
class Event:
    """A step as it happens: for pictures and for telling what went on before a failure."""

    tick: int
    step: Step


@dataclass(frozen=True)
class Script:
    """A trial as pulses, and what to look for in the answer. At `cuts` the board starts anew."""

    trial: Trial
    trace: Trace
    expectations: tuple[Expectation, ...]
    events: tuple[Event, ...]
    cuts: tuple[int, ...] = ()


@dataclass(frozen=True)
class Failure:
    """An expectation that was not met, first at `tick`. `doing` names every function that was not
    at rest then.
    """

    trial: str
    step: Expect
    expected: str
    seen: str
    tick: int
    doing: tuple[str, ...]

    def told(self, file: str) -> str:
        """The failure in four lines; `file` is the ship file's name."""
        return (
            f"{file}:{self.step.source_line}: trial '{self.trial}' fell short at "
            f"{show_time(self.tick)}, step '{self.step.text}'\n"
            f"  expected: {self.expected}\n"
            f"  seen:     {self.seen}\n"
            f"  the ship: {', '.join(self.doing) or 'everything at rest'}"
        )

    def as_json(self, file: str) -> dict[str, object]:
        """The same for machines."""
        return {
            "file": file,
            "line": self.step.source_line,
            "trial": self.trial,
            "step": self.step.text,
            "expected": self.expected,
            "seen": self.seen,
            "tick": self.tick,
            "doing": list(self.doing),
        }


def script(plan: Plan, trial: Trial) -> Script:
    """Turn a trial into pulses. The plan's controls are all at rest when it begins."""
    return _Writer(plan, trial).write()


def run(plan: Plan, trial: Trial, rung: Rung) -> list[Failure]:
    """Run a trial on a rung and judge the answer."""
    scripted = script(plan, trial)
    return judge(plan, scripted, answer(rung, scripted))


def answer(rung: Rung, scripted: Script) -> Record:
    """What a rung does with a trial: from one cut of the power to the next, with what it kept."""
    whole = scripted.trace
    ends = [*scripted.cuts, whole.ticks]
    records = [rung.run(whole.part(0, ends[0], whole.kept) if scripted.cuts else whole)]
    for begin, end in itertools.pairwise(ends):
        records.append(rung.run(whole.part(begin, end, records[-1].kept)))
    if len(records) == 1:
        return records[0]
    digests = [record.digests for record in records if record.digests is not None]
    return Record(
        whole,
        np.concatenate([record.lines for record in records]),
        np.concatenate([record.servos_half_us for record in records]),
        np.concatenate([record.levels for record in records]),
        np.concatenate(digests) if len(digests) == len(records) else None,
        records[-1].kept,
    )


def marks(scripted: Script, failures: Sequence[Failure] = ()) -> list[Mark]:
    """What to write above a picture of the run: each step that does something, each failure."""
    steps = [
        Mark(event.tick, event.step.text)
        for event in scripted.events
        if not isinstance(event.step, Expect | Wait)
    ]
    return sorted(steps + [Mark(one.tick, one.step.text, failed=True) for one in failures])


def judge(plan: Plan, scripted: Script, record: Record) -> list[Failure]:
    """Every expectation that `record` does not meet, in the order of the steps.

    Raises ValueError when the record is not as long as the trace: nothing can then be said.
    """
    if record.ticks != scripted.trace.ticks:
        raise ValueError(f"the record has {record.ticks} ticks, the trial {scripted.trace.ticks}")
    doing = Doing(plan, record)
    failures = []
    for expectation in scripted.expectations:
        failure = _judge_one(doing, scripted.trial.name, expectation)
        if failure is not None:
            failures.append(failure)
    return failures


def _judge_one(doing: Doing, trial: str, expectation: Expectation) -> Failure | None:
    step = expectation.step
    holds = _holds(doing, step.claim)
    window = slice(expectation.first, expectation.last + 1)
    if step.throughout:
        wrong = np.flatnonzero(~holds[window])
        if not wrong.size:
            return None
        tick = expectation.first + int(wrong[0])
    elif holds[expectation.last]:
        return None
    else:
        tick = expectation.last
    seen = _seen(doing, step.claim, tick)
    passed = np.flatnonzero(holds[window])
    if passed.size and not step.throughout:
        was = expectation.first + int(passed[0]), expectation.first + int(passed[-1])
        seen += f"; it was so from {show_time(was[0])} to {show_time(was[1])}, and did not stay so"
    return Failure(
        trial=trial,
        step=step,
        expected=_expected(doing.plan, step, expectation),
        seen=seen,
        tick=tick,
        doing=tuple(doing.busy(tick)),
    )


def _holds(doing: Doing, claim: Claim) -> NDArray[np.bool_]:
    functions = doing.plan.functions
    match claim:
        case InState(function, state):
            return doing.looks(functions[function], state)
        case AtLevel(function, brightness):
            met = np.ones(doing.record.ticks, np.bool_)
            for light in functions[function].lights:
                met &= doing.level_near(light, brightness)
            return met
        case AtWidth(function, low, high):
            met = np.ones(doing.record.ticks, np.bool_)
            for servo in functions[function].servos:
                met &= doing.near(servo, low, high)
            return met
        case AllIdle(servos_too):
            idle = np.ones(doing.record.ticks, np.bool_)
            for one in functions:
                if one.lines or one.lights or servos_too:
                    idle &= doing.state(one) == 0
            return idle


def _expected(plan: Plan, step: Expect, expectation: Expectation) -> str:
    match step.claim:
        case InState(function, state):
            what = f"{plan.functions[function].name} {plan.functions[function].states[state]}"
        case AtWidth(function, low, high):
            band = show_us(low) if low == high else f"{show_us(low)} to {show_us(high)}"
            what = f"{plan.functions[function].name} at {band}"
        case AtLevel(function, brightness):
            what = f"{plan.functions[function].name} at {round(brightness * 100 / FULL)} %"
        case AllIdle(servos_too):
            what = f"everything {'at rest' if servos_too else 'off'}"
    if step.throughout:
        first, last = show_time(expectation.first), show_time(expectation.last)
        return f"{what} in every tick from {first} to {last}"
    return f"{what} at {show_time(expectation.last)}"


def _seen(doing: Doing, claim: Claim, tick: int) -> str:
    if isinstance(claim, AllIdle):
        return ", ".join(doing.busy(tick))
    function = doing.plan.functions[claim.function]
    return f"{function.name} {doing.word(function, tick)}"


class _Writer:
    """Follows a trial's steps with the transmitter in hand."""

    def __init__(self, plan: Plan, trial: Trial) -> None:
        self.plan = plan
        self.trial = trial
        self.transmitter = Transmitter(plan)
        self.powered = not any(isinstance(step, PowerUp) for step in trial.steps)
        self.expectations: list[Expectation] = []
        self.events: list[Event] = []
        self.cuts: list[int] = []

    def write(self) -> Script:
        if self.powered:
            seen = [self.transmitter.seen_ticks(control) for control in self.plan.controls]
            self.transmitter.run(max(REST_TICKS, *seen))
        for step in self.trial.steps:
            self.events.append(Event(self.transmitter.now, step))
            self._do(step)
        return Script(
            trial=self.trial,
            trace=self.transmitter.trace(f"trial '{self.trial.name}'"),
            expectations=tuple(self.expectations),
            events=tuple(self.events),
            cuts=tuple(self.cuts),
        )

    def _do(self, step: Step) -> None:
        sender = self.transmitter
        match step:
            case Press(control, position, ticks):
                sender.put(control, position)
                sender.run(ticks)
                sender.put(control, self.plan.controls[control].rest)
                self._until_seen(self.plan.controls[control])
            case Hold(control, position):
                sender.put(control, position)
                self._until_seen(self.plan.controls[control])
            case Move(control, half_us):
                sender.move(control, half_us)
                self._until_seen(self.plan.controls[control])
            case Wait(ticks):
                sender.run(ticks)
            case LoseSignal(channels):
                sender.lose(channels)
            case SignalReturns(channels):
                sender.restore(channels)
                controls = [c for c in self.plan.controls if c.channel in channels]
                self._until_seen(*controls)
            case Send(channel, half_us):
                sender.send(channel, half_us)
            case Sense(sensor, reading):
                sender.feel(sensor, reading)
                self._until_felt(sensor)
            case CutPower():
                self.cuts.append(sender.now)
                sender.run(1)
            case PowerUp():
                self.powered = True
                sender.run(1)
            case Expect():
                self._expect(step)
            case _:
                raise TypeError(f"a step of an unknown kind: {step!r}")

    def _until_felt(self, index: int) -> None:
        """Let a contact's change be believed; a voltage is smoothed while the trial goes on."""
        sensor = self.plan.sensors[index]
        if self.powered and isinstance(sensor, DigitalSensor):
            self.transmitter.run(sensor.debounce_ticks + 1)

    def _until_seen(self, *controls: Control) -> None:
        """Let a move be seen; before power-up nobody looks."""
        if self.powered:
            seen = [self.transmitter.seen_ticks(control) for control in controls]
            self.transmitter.run(max(seen, default=0))

    def _expect(self, step: Expect) -> None:
        now = self.transmitter.now
        self.transmitter.run(step.ticks)
        first, last = (now, now + step.ticks - 1) if step.ticks else (now - 1, now - 1)
        self.expectations.append(Expectation(step, first, last))
