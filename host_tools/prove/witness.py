"""Every function can be switched on, and off again: shown by doing it.

What the ship file says of a function is followed backwards - what it depends on first, then its own
control - and the model is driven so, as a trial is. What was seen is a proof.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import (
    Auto,
    Dimmer,
    Follow,
    Momentary,
    Pulse,
    Rhythm,
    Sequence,
    Step,
    Toggle,
    Winch,
)
from gen.behaviours.dimmer import WHOLE_FADE
from gen.behaviours.trigger import When
from gen.plan import MOST_COUNTS, AnalogueSensor, Felt, StateOf
from gen.read.steps import Hold, LoseSignal, Move, Press, Sense, Trial, Wait
from gen.read.steps import Step as TrialStep
from gen.response import press_ticks
from host_tools import trial as trials
from host_tools.model import Model
from host_tools.states import Doing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.behaviours import Function
    from gen.plan import Ask, Plan

DEEPEST = 12
"""So many functions may depend on each other one after another."""

MOST_TRIES = 24
PATIENCE_TICKS = 400
SMOOTHED_TICKS = 2_000


@dataclass(frozen=True)
class Way:
    """Steps that bring a function on, and steps that then bring it off."""

    on: tuple[TrialStep, ...]
    off: tuple[TrialStep, ...]


def can_be_worked(plan: Plan, index: int) -> bool:
    """Whether the function was seen on, and off again afterwards."""
    return any(
        _was_seen(plan, index, way)
        for way in itertools.islice(Finder(plan).ways(index), MOST_TRIES)
    )


def _was_seen(plan: Plan, index: int, way: Way) -> bool:
    steps = (*way.on, *way.off)
    scripted = trials.script(plan, Trial("worked", steps, 0))
    record = Model(plan).run(scripted.trace, digests=False)
    states = Doing(plan, record).state(plan.functions[index])
    on = np.flatnonzero(states != 0)
    return bool(len(on) and (states[on[0] :] == 0).any())


class Finder:
    """Steps that bring functions of a plan into states. Functions that are `there` already, by
    their index, need no steps."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.there: dict[int, int] = {}

    def ways(self, index: int, depth: int = 0) -> Iterator[Way]:
        """Ways to work a function, what it depends on included."""
        if depth > DEEPEST:
            return
        function = self.plan.functions[index]
        for first in self._made_ready(function, depth):
            for way in self._own(index, depth):
                yield Way((*first, *way.on), way.off)

    def _made_ready(self, function: Function, depth: int) -> Iterator[tuple[TrialStep, ...]]:
        """What its gate wants beforehand. What bars it is off for as long as nobody asks for it."""
        gate = function.gate
        needs = [(of, 0) for of in gate.only_while]
        needs += [(first.of, first.for_ticks) for first in gate.first]
        ready: list[list[tuple[TrialStep, ...]]] = []
        for of, ticks in needs:
            ways = itertools.islice(self.into(of, depth), 4)
            ready.append([(*way, self._wait(ticks + 1)) for way in ways])
        for picked in itertools.product(*ready):
            yield tuple(itertools.chain.from_iterable(picked))

    def into(self, of: StateOf, depth: int = 0) -> Iterator[tuple[TrialStep, ...]]:
        """Ways to bring a function into one of these states."""
        if self.there.get(of.function, 0) in of.states:
            yield ()
            return
        function = self.plan.functions[of.function]
        if isinstance(function, Winch):
            ways = enumerate((function.first, function.second), start=1)
            asks = [ask for state, ask in ways if state in of.states]
            if function.unknown is not None and not function.unknown[0]:
                asks.reverse()  # it knows its place only once it has been at an end
            for first in self._made_ready(function, depth):
                yield from ((*first, *self._held(ask).on) for ask in asks)
            return
        for way in self.ways(of.function, depth + 1):
            if isinstance(function, Step):
                for state in of.states:
                    yield way.on + way.on[-1:] * (state - 1)
            else:
                yield way.on

    def _own(self, index: int, depth: int) -> Iterator[Way]:
        function = self.plan.functions[index]
        match function:
            case Toggle():
                yield self._twice(function.ask)
            case Step():
                press = self._press(function.ask)
                back = (self._press(function.back),) if function.back is not None else ()
                yield Way((press,), back or (press,) * (len(function.names) - 1))
            case Momentary():
                yield self._held(function.ask)
            case Pulse():
                wait = self._wait(function.duration_ticks + 2)
                yield Way((self._press(function.ask),), (wait,))
            case Winch():
                for ask in (function.first, function.second):
                    way = self._held(ask)
                    yield Way((*way.on, self._wait(function.pause_ticks + 2)), way.off)
            case Sequence():
                yield from self._sequence(function)
            case Auto():
                yield from self._auto(function, depth)
            case Follow():
                yield from self._follow(function)
            case Rhythm() | Dimmer():
                yield from self._triggered(function, depth)

    def _sequence(self, function: Sequence) -> Iterator[Way]:
        longest = sum(leg.ticks for leg in function.legs) + len(function.legs) + 2
        off: tuple[TrialStep, ...] = (self._wait(longest),)
        if function.abort is not None:
            off = (*off, *self._held(function.abort).on)
        yield Way((self._press(function.ask),), off)

    def _auto(self, function: Auto, depth: int) -> Iterator[Way]:
        wait = self._wait(function.wait_ticks + PATIENCE_TICKS)
        after = self._wait(function.run_on_ticks + PATIENCE_TICKS)
        for on, off in self._so(function.when, depth):
            yield Way((*on, wait), (*off, after))
        if function.by_hand is not None:
            way = self._held(function.by_hand)
            yield Way(way.on, (*way.off, after))

    def _follow(self, function: Follow) -> Iterator[Way]:
        stick = self.plan.controls[function.stick.control]
        slow = self._wait(PATIENCE_TICKS)
        first = (self._wait(function.neutral_ticks + 4),) if function.neutral_ticks else ()
        rest = Move(function.stick.control, function.stick.centre_half_us, text="", source_line=0)
        home = Hold(function.stick.control, stick.rest, text="", source_line=0)
        for width in (*stick.ends_half_us, function.stick.centre_half_us):
            move = Move(function.stick.control, width, text="", source_line=0)
            for back in (home, rest, *self._ends(function.stick.control)):
                yield Way((*first, move, slow), (back, slow))
        lose = LoseSignal((stick.channel,), text="", source_line=0)
        yield Way((slow,), (lose, self._wait(PATIENCE_TICKS * 2)))

    def _ends(self, control: int) -> tuple[Move, ...]:
        ends = self.plan.controls[control].ends_half_us
        return tuple(Move(control, width, text="", source_line=0) for width in ends)

    def _triggered(self, function: Rhythm | Dimmer, depth: int) -> Iterator[Way]:
        trigger = function.trigger
        if isinstance(function, Rhythm):
            lasts = sum(function.phases_ticks) + 4
        else:
            slowest = min(function.up_per_256, function.down_per_256)
            lasts = PATIENCE_TICKS + -(-WHOLE_FADE // slowest)
        wait = self._wait(lasts)
        lit: tuple[TrialStep, ...] = ()
        if isinstance(function, Dimmer) and function.knob is not None:
            lit = (self._ends(function.knob)[1], self._wait(PATIENCE_TICKS))
        if trigger.when is When.ALWAYS:
            # It is off in the pauses of its pattern; what has none is off without power.
            yield Way((wait,), (wait,))
            return
        if trigger.ask is not None:
            way = self._held(trigger.ask)
            if trigger.when is When.PRESSED:
                way = self._twice(trigger.ask)
            yield Way((*lit, *way.on, wait), (*way.off, wait))
        elif trigger.of is not None:
            for on, off in self._so(trigger.of, depth):
                yield Way((*lit, *on, wait), (*off, wait))

    def _so(
        self, of: Felt | StateOf, depth: int
    ) -> Iterator[tuple[tuple[TrialStep, ...], tuple[TrialStep, ...]]]:
        """Ways to make a condition so, and then not so."""
        if isinstance(of, StateOf):
            for way in self.ways(of.function, depth + 1):
                if 0 in of.states:
                    yield (), way.on
                    continue
                for on in self.into(of, depth):
                    yield on, way.off
            return
        # What is smoothed comes near a value only slowly: as far away as it goes.
        most = MOST_COUNTS if isinstance(self.plan.sensors[of.sensor], AnalogueSensor) else 1
        inside = of.high if of.high == most else 0 if of.low == 0 else (of.low + of.high) // 2
        outside = 0 if of.low > 0 else most
        yield self._feel(of.sensor, inside), self._feel(of.sensor, outside)

    def _feel(self, sensor: int, value: int) -> tuple[TrialStep, ...]:
        planned = self.plan.sensors[sensor]
        reading = value
        if not isinstance(planned, AnalogueSensor):
            reading = value ^ int(planned.active_low)
        sense = Sense(sensor, reading, text="", source_line=0)
        return (sense, self._wait(SMOOTHED_TICKS))

    def _twice(self, ask: Ask) -> Way:
        return Way((self._press(ask),), (self._press(ask),))

    def _held(self, ask: Ask) -> Way:
        rest = self.plan.controls[ask.control].rest
        on, off = (
            Hold(ask.control, place, text="", source_line=0) for place in (ask.position, rest)
        )
        return Way((on,), (off,))

    def _press(self, ask: Ask) -> TrialStep:
        ticks = press_ticks(self.plan, self.plan.controls[ask.control]) + 2
        return Press(ask.control, ask.position, ticks, text="", source_line=0)

    @staticmethod
    def _wait(ticks: int) -> TrialStep:
        return Wait(ticks, text="", source_line=0)
