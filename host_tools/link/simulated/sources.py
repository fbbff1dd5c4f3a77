"""What comes to the pins of a simulated board: traces, one after another, tick by tick."""

from __future__ import annotations

from dataclasses import replace
from itertools import count, repeat
from typing import TYPE_CHECKING

import numpy as np

from host_tools.thumbs import random_trace
from host_tools.trace import HELD, NO_PULSE
from host_tools.transmitter import Transmitter

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from gen.plan import Plan
    from host_tools.trace import Trace

AT_ONCE_TICKS = 20_000

A_TICK = 1.6
"""Pulses and readings: eight channels of 50 frames a second are what the wire must carry together
with what they set in motion; random thumbs set everything in motion, and all at once."""

BURST = 6

Comes = tuple[list[tuple[int, int]], list[tuple[int, int]]]
"""The pulses (input, half microseconds) and readings (sensor, value) of one tick."""


def by_tick(traces: Iterable[Trace]) -> Callable[[], Comes]:
    """What comes next, each time that it is called; nothing after the last trace."""
    ticks = (comes for trace in traces for comes in trace.tick_by_tick())
    return lambda: next(ticks, ([], []))


def at_rest(plan: Plan) -> Iterator[Trace]:
    """A transmitter that nobody touches, without end."""
    sender = Transmitter(plan)
    sender.run(AT_ONCE_TICKS)
    return repeat(sender.trace("at rest"))


def switched_off(plan: Plan) -> Iterator[Trace]:
    """No receiver, and sensors that nothing sets off."""
    sender = Transmitter(plan)
    sender.run(1)
    trace = sender.trace("off")
    yield replace(trace, widths_half_us=np.zeros_like(trace.widths_half_us))


def thumbs(plan: Plan, seed: int) -> Iterator[Trace]:
    """Random thumbs without end, the same for the same seed, but of a flood only as much as the
    wire to the host can carry."""
    traces = (random_trace(plan, AT_ONCE_TICKS, seed + number) for number in count())
    return (bearable(trace.without_forces()) for trace in traces)


def bearable(trace: Trace) -> Trace:
    """The same without the pulses and readings that come too thick."""
    widths, readings = trace.widths_half_us.copy(), trace.readings.copy()
    credit, latest = float(BURST), 0
    for tick, row, felt in zip(trace.at.tolist(), widths, readings, strict=True):
        credit = min(credit + A_TICK * (tick - latest), BURST)
        latest = tick
        for cells, nothing in ((row, NO_PULSE), (felt, HELD)):
            told = np.flatnonzero(cells != nothing)
            cells[told[int(credit) :]] = nothing
            credit -= min(int(credit), len(told))
    return replace(trace, widths_half_us=widths, readings=readings)
