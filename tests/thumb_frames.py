"""Thumbs as a real transmitter sends them: every channel once a frame, 50 frames a second, one
after another as most receivers put them out (common practice, no source)."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import numpy as np

from host_tools.rows import as_rows
from host_tools.trace import Trace

if TYPE_CHECKING:
    from gen.plan import Channel, Plan

FRAME_TICKS = 4
HALF_US_A_TICK = 10_000
JITTER_HALF_US = 2


def thumb_frames(plan: Plan, frames: int, seed: int) -> Trace:
    """A trace of so many frames in which every control is moved to some other place now and then.
    Of a ship whose channels have a pin each."""
    draw = random.Random(seed)
    places = [_rest(plan, index) for index in range(len(plan.channels))]
    stays = [draw.randrange(200) for _ in places]
    at, inputs, widths = [], [], []
    for frame in range(frames):
        ends = frame * FRAME_TICKS * HALF_US_A_TICK + HALF_US_A_TICK
        for index, channel in enumerate(plan.channels):
            stays[index] -= 1
            if stays[index] <= 0:
                stays[index] = draw.randrange(5, 150)
                places[index] = _place(plan, channel, index, draw)
            width = places[index] + draw.randrange(-JITTER_HALF_US, JITTER_HALF_US + 1)
            ends += width
            at.append(ends // HALF_US_A_TICK)
            inputs.append(index)
            widths.append(width)
    ticks = frames * FRAME_TICKS + 2 * FRAME_TICKS
    rows, table = as_rows(
        np.array(at), np.array(inputs), np.array(widths, np.uint16), len(plan.inputs)
    )
    names = tuple(one.name for one in plan.inputs)
    return Trace(ticks, names, rows, table, plan.ship, plan.plan_id, f"thumbs, seed {seed}")


def _rest(plan: Plan, channel: int) -> int:
    control = next(one for one in plan.controls if one.channel == channel)
    band = control.positions[control.rest]
    return (band.low_half_us + band.high_half_us) // 2


def _place(plan: Plan, channel: Channel, index: int, draw: random.Random) -> int:
    control = next(one for one in plan.controls if one.channel == index)
    if control.proportional:
        return draw.randrange(2_000, 4_001)
    band = (
        draw.choice(control.positions) if draw.random() < 0.5 else control.positions[control.rest]
    )
    low, high = max(band.low_half_us, channel.valid_half_us[0]), band.high_half_us
    return draw.randrange(low + JITTER_HALF_US, high - JITTER_HALF_US + 1)
