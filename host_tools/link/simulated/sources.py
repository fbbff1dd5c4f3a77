"""What comes to the pins of a simulated board: traces, one after another, tick by tick."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING

import numpy as np

from host_tools.thumbs import random_trace
from host_tools.transmitter import Transmitter

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from gen.plan import Plan
    from host_tools.trace import Trace

AT_ONCE_TICKS = 20_000

PULSES_A_TICK = 2.0
"""Eight channels of 50 frames a second: what the wire must carry."""

BURST_PULSES = 16

Comes = tuple[list[tuple[int, int]], list[tuple[int, int]]]
"""The pulses (input, half microseconds) and readings (sensor, value) of one tick."""


def by_tick(traces: Iterable[Trace]) -> Callable[[], Comes]:
    """What comes next, each time that it is called; nothing after the last trace."""
    ticks = (comes for trace in traces for comes in _ticks(trace))
    return lambda: next(ticks, ([], []))


def _ticks(trace: Trace) -> Iterator[Comes]:
    felt = iter([*zip(*(part.tolist() for part in trace.felt), strict=True), None])
    at, rows = trace.at.tolist(), trace.widths_half_us.tolist()
    row = 0
    reading = next(felt)
    for tick in range(trace.ticks):
        pulses, readings = [], []
        while row < len(at) and at[row] == tick:
            pulses += [(source, width) for source, width in enumerate(rows[row]) if width]
            row += 1
        while reading is not None and reading[0] == tick:
            readings.append((reading[1], reading[2]))
            reading = next(felt)
        yield pulses, readings


def at_rest(plan: Plan) -> Callable[[], Comes]:
    """A transmitter that nobody touches."""

    def traces() -> Iterator[Trace]:
        sender = Transmitter(plan)
        sender.run(AT_ONCE_TICKS)
        trace = sender.trace("at rest")
        while True:
            yield trace

    return by_tick(traces())


def switched_off(plan: Plan) -> Callable[[], Comes]:
    """No receiver, and sensors that nothing sets off."""
    sender = Transmitter(plan)
    sender.run(1)
    trace = sender.trace("off")
    nothing = replace(trace, widths_half_us=np.zeros_like(trace.widths_half_us))
    return by_tick([nothing])


def thumbs(plan: Plan, seed: int) -> Callable[[], Comes]:
    """Random thumbs without end, the same for the same seed, but of a flood only as much as the
    wire to the host can carry."""
    comes = by_tick(random_trace(plan, AT_ONCE_TICKS, seed + number) for number in count())
    credit = float(BURST_PULSES)

    def bearable() -> Comes:
        nonlocal credit
        pulses, readings = comes()
        credit = min(credit + PULSES_A_TICK, BURST_PULSES)
        heard = pulses[: int(credit)]
        credit -= len(heard)
        return heard, readings

    return bearable
