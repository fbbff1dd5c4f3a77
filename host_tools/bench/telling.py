"""What was seen, told as a trial in the ship's own words: what the thumbs did, and what the
functions were by then.

A trial is open loop and rounds its times, so not everything that was seen comes back when it is
run. It is run before it is told: what the model does not confirm is left out, and said to be.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import MOST_COUNTS, TICK_MS, DigitalSensor
from gen.read.steps import Trial
from gen.read.trial_steps import parse_step
from gen.response import press_ticks
from gen.units import us_text
from host_tools.bench.news import as_shown
from host_tools.bench.seen import CONTROL, FUNCTION, SENSE, SIGNAL, VALUE
from host_tools.model import Model
from host_tools.model.stepwise import LOST
from host_tools.transmitter import Transmitter
from host_tools.trial import REST_TICKS, judge, script

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from gen.plan import Plan
    from host_tools.bench.seen import Event, Tape

LEAST_WAIT_TICKS = 4
"""A shorter pause than 20 ms is none that a thumb made."""

SETTLED_TICKS = 40
"""A stick that has not moved for 0.2 s is where it was wanted."""

SURE_TICKS = 20
"""A function is expected to be what it has been for 0.1 s."""

PLAIN = re.compile(r"[A-Za-z](?:[A-Za-z0-9_(),.%/+-]| (?![#]))*(?<! )")
"""What needs no quotes in YAML, whatever stands around it."""

RESERVED = frozenset(("y", "n", "yes", "no", "on", "off", "true", "false", "null"))


@dataclass(frozen=True)
class Told:
    """A trial: its steps, and the expectations that were seen but do not come back."""

    name: str
    steps: tuple[str, ...]
    left_out: tuple[str, ...]

    def lines(self) -> list[str]:
        """As it stands in a ship file, below `trials:`."""
        return [f"  {quoted(self.name)}:", *(f"    - {quoted(step)}" for step in self.steps)]


def told(plan: Plan, tape: Tape, name: str) -> Told:
    """The trial of what was seen."""
    steps = _Teller(plan, tape).steps()
    kept, left_out = _confirmed(plan, name, steps)
    return Told(name, tuple(kept), tuple(left_out))


def quoted(text: str) -> str:
    """A text as YAML has it, in quotes where it needs them."""
    if PLAIN.fullmatch(text) and text.lower() not in RESERVED:
        return text
    return json.dumps(text, ensure_ascii=False)


def _confirmed(plan: Plan, name: str, steps: Sequence[str]) -> tuple[list[str], list[str]]:
    """The steps without the expectations that the model does not meet, and these."""
    parsed = [parse_step(text, number, plan) for number, text in enumerate(steps)]
    scripted = script(plan, Trial(name, tuple(parsed), 0))
    record = Model(plan).run(scripted.trace, digests=False)
    # An expectation of the present takes no time: without it everything else stays where it was.
    failed = {one.step.source_line for one in judge(plan, scripted, record)}
    kept = [text for number, text in enumerate(steps) if number not in failed]
    return kept, [text for number, text in enumerate(steps) if number in failed]


class _Teller:
    """Goes through what was seen with a trial's clock in hand."""

    def __init__(self, plan: Plan, tape: Tape) -> None:
        self._plan = plan
        self._tape = tape
        self._transmitter = Transmitter(plan)
        self._steps: list[str] = []
        # A trial begins with everything at rest; what was seen then has happened already.
        self._begins = tape.first + (REST_TICKS if tape.from_power_up else 0)
        self._now = self._begins
        self._at = [control.rest for control in plan.controls]
        self._lost: set[int] = set()
        self._was: dict[int, int] = {}
        self._is: dict[int, tuple[int, int]] = {}

    def steps(self) -> list[str]:
        """The steps, and an expectation wherever a function has changed."""
        events = self._tape.events
        for number, event in enumerate(events):
            if event.kind == FUNCTION:
                self._is[event.index] = (event.k, event.value)
            elif event.kind == CONTROL:
                self._control(event, events[number + 1 :])
            elif event.kind == VALUE:
                self._value(event, events[number + 1 :])
            elif event.kind == SIGNAL:
                self._signal(event)
            elif event.kind == SENSE:
                self._sense(event)
        self._wait_until(self._tape.first + self._tape.ticks)
        return self._steps

    def _control(self, event: Event, later: Sequence[Event]) -> None:
        control = self._plan.controls[event.index]
        if control.proportional or self._at[event.index] == event.value:
            return
        self._at[event.index] = event.value
        where = f"{control.name} {control.positions[event.value].name}"
        if event.value == control.rest:
            self._step(event.k, f"release {control.name}", self._seen(event.index))
            return
        back = _back(event, later, control.rest)
        least = press_ticks(self._plan, control)
        if back is None or back - event.k < least:
            self._step(event.k, f"hold {where}", self._seen(event.index))
            return
        self._at[event.index] = control.rest
        lasts = back - event.k
        self._step(event.k, f"press {where} for {_time(lasts)}", lasts + self._seen(event.index))

    def _value(self, event: Event, later: Iterable[Event]) -> None:
        """The last value of a move, once it has settled."""
        mine = (one for one in later if (one.kind, one.index) == (VALUE, event.index))
        follows = next(mine, None)
        if follows is not None and follows.k - event.k < SETTLED_TICKS:
            return
        control = self._plan.controls[event.index]
        if event.k < self._begins:
            return
        text = f"move {control.name} to {us_text(event.value)} us"
        self._step(event.k, text, self._seen(event.index))

    def _signal(self, event: Event) -> None:
        if event.value == LOST:
            if event.index not in self._lost:
                self._lost.add(event.index)
                # It was gone for a while before anybody could know.
                late = self._plan.channels[event.index].lost_after_ticks
                self._step(event.k - late, self._lose(event.index), 0)
        elif event.index in self._lost:
            self._lost.discard(event.index)
            controls = [
                index for index, one in enumerate(self._plan.controls) if one.channel == event.index
            ]
            seen = max([self._seen(control) for control in controls], default=0)
            name = self._plan.channels[event.index].name
            self._step(event.k, f"signal returns on {name}", seen)

    def _lose(self, channel: int) -> str:
        return f"lose signal on {self._plan.channels[channel].name}"

    def _sense(self, event: Event) -> None:
        if event.k < self._begins:
            return
        sensor = self._plan.sensors[event.index]
        if isinstance(sensor, DigitalSensor):
            verb = "close" if as_shown(sensor, event.value) else "open"
            self._step(event.k, f"{verb} {sensor.name}", sensor.debounce_ticks + 1)
            return
        millivolts = (2 * event.value + 1) * sensor.full_scale_uv // (2 * (MOST_COUNTS + 1)) // 1000
        self._step(event.k, f"set {sensor.name} to {millivolts / 1000:g} V", 0)

    def _seen(self, control: int) -> int:
        return self._transmitter.seen_ticks(self._plan.controls[control])

    def _step(self, k: int, text: str, lasts: int) -> None:
        self._wait_until(k)
        self._steps.append(text)
        self._now += lasts

    def _wait_until(self, k: int) -> None:
        wait = k - self._now
        if wait >= LEAST_WAIT_TICKS:
            self._steps.append(f"wait {_time(wait)}")
            self._now = k
        self._expect()

    def _expect(self) -> None:
        """What has changed since it was expected last, and has stayed so for a little."""
        for index, (since, state) in sorted(self._is.items()):
            if self._now - since < SURE_TICKS or self._was.get(index) == state:
                continue
            self._was[index] = state
            function = self._plan.functions[index]
            if state < len(function.states):
                self._steps.append(f"expect {function.name} {function.states[state]}")


def _back(event: Event, later: Sequence[Event], rest: int) -> int | None:
    """When a control was let go, if nothing but functions happened in between."""
    for one in later:
        if (one.kind, one.index) == (CONTROL, event.index):
            return one.k if one.value == rest else None
        if one.kind != FUNCTION:
            return None
    return None


def _time(ticks: int) -> str:
    return f"{ticks * TICK_MS / 1000:g} s"
