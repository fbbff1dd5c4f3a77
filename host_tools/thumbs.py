"""Random thumbs: pulses that look for trouble.

What is drawn: any position and its edges (one half microsecond inside and outside, with and
without hysteresis), sticks that sweep and jitter, glitches, values out of range and in lost
bands, single missing pulses, losses shorter and longer than the channel bears, two pulses in one
tick, floods of glitches, frame rates from 5 to 25 ms, and quiet spells in which timers run out.
Sensors read what is just this and just that side of what is asked of them, jump, drift, jitter and
bounce. A bench forces one function after another.
"""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from host_tools.forcing import random_forces
from host_tools.rows import as_rows
from host_tools.sensing import random_readings
from host_tools.thumbs_in_turn import FRAME_TICKS, shared_pulses, sum_intervals
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Input, Plan

FLOOD_PER_TICK = 6
"""Glitches in each tick of a flood, enough to run a 16-bit count to its end within a minute."""


def random_trace(plan: Plan, ticks: int, seed: int) -> Trace:
    """`ticks` of pulses for every input of `plan`, the same for the same seed."""
    draw = random.Random(seed)
    at: list[int] = []
    inputs: list[int] = []
    widths: list[int] = []
    for index, one in enumerate(plan.inputs):
        for tick, width in _input(plan, one, ticks, draw):
            at.append(tick)
            inputs.append(index)
            widths.append(width)
    rows, table = as_rows(at, inputs, widths, len(plan.inputs))
    kept = bytes(
        draw.choice((0, 1, 2, 3, 4, 255, draw.randrange(256))) for _ in range(plan.kept_bytes)
    )
    trace = Trace(
        ticks,
        tuple(one.name for one in plan.inputs),
        rows,
        table,
        plan.ship,
        plan.plan_id,
        f"random, seed {seed}",
        kept=kept,
    )
    if not plan.readings:
        return trace
    felt = [
        (tick, index, reading)
        for index in range(len(plan.sensors))
        for tick, reading in random_readings(plan, index, ticks, draw)
    ]
    if plan.bench is not None:
        forced = len(plan.sensors)
        felt += [(tick, forced, reading) for tick, reading in random_forces(plan, ticks, draw)]
    return trace.with_readings(plan.readings, felt)


def _input(plan: Plan, one: Input, ticks: int, draw: random.Random) -> Iterator[tuple[int, int]]:
    """(tick, width) for one input."""
    if plan.sum_signal is not None and one.is_sum:
        interesting = {index: _interesting(plan, index) for index in one.channels}
        return sum_intervals(plan, plan.sum_signal, interesting, ticks, draw)
    (index,) = one.channels
    if plan.channels[index].sharing is not None:
        return shared_pulses(plan, index, _interesting(plan, index), ticks, draw)
    return _channel(plan, index, ticks, draw)


def _channel(plan: Plan, index: int, ticks: int, draw: random.Random) -> Iterator[tuple[int, int]]:
    """(tick, width) for one channel."""
    channel = plan.channels[index]
    interesting = _interesting(plan, index)
    rests = [
        (control.positions[control.rest].low_half_us + control.positions[control.rest].high_half_us)
        // 2
        for control in plan.controls
        if control.channel == index
    ] or [3000]
    random_ = draw.random
    at = draw.randrange(8)
    while at < ticks:
        frame = draw.choice(FRAME_TICKS)
        mood = draw.random()
        pulses = draw.choice((1, 2, 3, 5, 20, 60, 200))
        width = draw.choice(rests) if draw.random() < 0.5 else draw.choice(interesting)
        if mood < 0.1:  # silence, around the time that the channel bears
            at += channel.lost_after_ticks + draw.choice((-2, -1, 0, 1, 2, 30, 400))
            continue
        if mood > 0.995:  # a flood of glitches
            for _ in range(draw.choice((30, 3_000, 12_000))):
                if at >= ticks:
                    return
                for _ in range(FLOOD_PER_TICK):
                    yield at, draw.randint(1, channel.valid_half_us[0] - 1)
                at += 1
            continue
        step = draw.choice((-40, -7, -1, 1, 7, 40)) if mood < 0.25 else 0
        jitter = draw.choice((0, 0, 0, 1, 2, 10))
        for _ in range(pulses):
            if at >= ticks:
                return
            # random() where randint() would do: it is ten times as fast, and runs for each pulse.
            now = width + int(random_() * (2 * jitter + 1)) - jitter if jitter else width
            chance = random_()
            if chance < 0.01:
                now = draw.choice(interesting)
            elif chance < 0.015:
                now = draw.randint(1, 0xFFFF)
            if chance > 0.005:
                yield at, min(max(now, 1), 0xFFFF)
            if chance > 0.99:
                yield at, draw.choice(interesting)
            width = min(max(width + step, 1), 0xFFFF)
            at += frame


def _interesting(plan: Plan, index: int) -> list[int]:
    """Widths at which something is decided, and their neighbours."""
    channel = plan.channels[index]
    edges = [*channel.valid_half_us, channel.lost_below_half_us, channel.lost_above_half_us]
    if channel.sharing is not None:
        edges += channel.sharing.marker_half_us
    middles = []
    for control in plan.controls:
        if control.channel != index:
            continue
        edges += control.ends_half_us
        margin = control.hysteresis_half_us
        for position in control.positions:
            low, high = position.low_half_us, position.high_half_us
            edges += [low, high, low - margin, high + margin]
            middles += [(low + high) // 2] * 6
    around = [edge + offset for edge in edges for offset in (-1, 0, 1)]
    return middles + [min(max(width, 1), 0xFFFF) for width in around]
