"""Drives a rung and the model with the same pulses and compares them on every tick."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from host_tools.model import Model
from host_tools.record import RungFault
from host_tools.shrink import shrunk
from host_tools.thumbs import random_trace

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gen.plan import Plan
    from host_tools.record import Record, Rung
    from host_tools.trace import Trace

RUN_TICKS = 20_000
"""How long a run from power-up to the next is: 100 s."""

LONG_RUN_TICKS = 80_000
"""Every `LONG_RUN_EVERY`th run is longer than 16 bits of ticks, so that counts wrap."""

LONG_RUN_EVERY = 10


@dataclass(frozen=True)
class Difference:
    """The first tick at which a rung and the model differ, and in what: "outputs", "servos",
    "levels", "digest" (something remembered), "length", or "fault" (the rung did what nothing may
    do). `model` and `rung` are what each had there."""

    tick: int
    what: str
    model: str
    rung: str


@dataclass(frozen=True)
class Agreement:
    """`ticks` were compared in `runs` runs. On a difference, `trace` is a short one that shows it,
    found by the run with `seed`."""

    ticks: int
    runs: int
    difference: Difference | None = None
    trace: Trace | None = None
    seed: int | None = None


def first_difference(model: Record, rung: Record) -> Difference | None:
    """Where two records of the same pulses part. Raises ValueError unless both hold digests."""
    if model.ticks != rung.ticks:
        return Difference(
            min(model.ticks, rung.ticks), "length", f"{model.ticks} ticks", f"{rung.ticks} ticks"
        )
    if model.digests is None or rung.digests is None:
        raise ValueError("records without digests cannot be compared")
    lines = model.lines != rung.lines
    servos = np.any(model.servos_half_us != rung.servos_half_us, axis=1)
    levels = np.any(model.levels != rung.levels, axis=1)
    digests = model.digests != rung.digests
    apart = np.flatnonzero(lines | servos | levels | digests)
    if not len(apart):
        return None
    tick = int(apart[0])
    if lines[tick]:
        return Difference(tick, "outputs", f"{model.lines[tick]:b}", f"{rung.lines[tick]:b}")
    if servos[tick]:
        return Difference(
            tick, "servos", str(model.servos_half_us[tick]), str(rung.servos_half_us[tick])
        )
    if levels[tick]:
        return Difference(tick, "levels", str(model.levels[tick]), str(rung.levels[tick]))
    return Difference(tick, "digest", f"{model.digests[tick]:08x}", f"{rung.digests[tick]:08x}")


def compare(plan: Plan, rung: Rung, trace: Trace) -> Difference | None:
    """Runs `trace` on the rung, then the pulses that the rung saw in the model."""
    try:
        record = rung.run(trace)
    except RungFault as fault:
        return Difference(min(fault.tick, trace.ticks - 1), "fault", "no fault", str(fault))
    return first_difference(Model(plan).run(record.trace), record)


def _tick_apart(plan: Plan, rung: Rung, trace: Trace) -> int | None:
    difference = compare(plan, rung, trace)
    return difference.tick if difference else None


def agree(
    plan: Plan,
    rung: Rung,
    ticks: int,
    seed: int,
    progress: Callable[[int], None] = lambda _: None,
) -> Agreement:
    """Compares at least `ticks` ticks of random thumbs, the same for the same seed, and stops at
    the first difference. `progress` is told the ticks done after each run."""
    done = 0
    for number, length in enumerate(_lengths(ticks)):
        trace = random_trace(plan, length, seed + number)
        if not rung.takes_forces:
            trace = trace.without_forces()
        difference = compare(plan, rung, trace)
        if difference:
            named = replace(trace, source=f"agree, seed {seed + number}")
            short = shrunk(named, difference.tick, lambda shorter: _tick_apart(plan, rung, shorter))
            return Agreement(
                done + difference.tick + 1,
                number + 1,
                compare(plan, rung, short),
                short,
                seed + number,
            )
        done += length
        progress(done)
    return Agreement(done, number + 1)


def _lengths(ticks: int) -> Iterator[int]:
    """Lengths of runs that add up to `ticks`; the first is a long one where there is room."""
    left = ticks
    number = 0
    while left > 0:
        long_one = number % LONG_RUN_EVERY == 0 and ticks > LONG_RUN_TICKS
        length = min(left, LONG_RUN_TICKS if long_one else RUN_TICKS)
        yield length
        left -= length
        number += 1
