"""An afternoon at the pond: a long trace of ordinary thumb work, synthetic.

Noise, ends and centres are of the size that receivers with a sum signal were measured to have
(standard deviation 0.3 to 0.6 us, ends near 991 and 2016 us, centre near 1503 us); how often a
thumb moves is a guess, marked so here: each control is worked every `PAUSE_S` on average, a stick
is swept for a second or two and otherwise held still.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import HALF_US_PER_US, TICK_MS
from host_tools.trace import Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.plan import Plan

FRAME_TICKS = 4
NOISE_US = 0.5
PAUSE_S = 20.0
HOLD_S = (0.2, 4.0)
SWEEP_S = (0.5, 3.0)
FRAMES_PER_S = 1_000 / TICK_MS / FRAME_TICKS


def afternoon(plan: Plan, hours: float, seed: int = 1) -> Trace:
    """`hours` of pulses for every channel of `plan`, one each 20 ms."""
    draw = np.random.default_rng(seed)
    frames = int(hours * 3_600 * FRAMES_PER_S)
    widths = np.empty((frames, len(plan.channels)), dtype=np.uint16)
    for index in range(len(plan.channels)):
        controls = [control for control in plan.controls if control.channel == index]
        proportional = any(control.proportional for control in controls)
        course = np.full(frames, 1503.0 * HALF_US_PER_US)
        if proportional:
            _sweep(course, draw)
        else:
            for control in controls:
                middles = [(p.low_half_us + p.high_half_us) / 2 for p in control.positions]
                course[:] = middles[control.rest]
                _press(course, middles, draw)
        noise = draw.normal(0, NOISE_US * HALF_US_PER_US, frames)
        widths[:, index] = np.rint(course + noise).astype(np.uint16)
    return Trace(
        frames * FRAME_TICKS,
        tuple(channel.name for channel in plan.channels),
        np.arange(frames, dtype=np.int64) * FRAME_TICKS,
        widths,
        plan.ship,
        plan.plan_id,
        f"synthetic afternoon, seed {seed}",
    )


def _starts(frames: int, draw: np.random.Generator) -> NDArray[np.int64]:
    gaps = draw.exponential(PAUSE_S * FRAMES_PER_S, int(frames / (PAUSE_S * FRAMES_PER_S)) + 1)
    starts = np.cumsum(gaps).astype(np.int64)
    return starts[starts < frames]


def _press(course: NDArray[np.float64], middles: list[float], draw: np.random.Generator) -> None:
    for start in _starts(len(course), draw):
        held = int(draw.uniform(*HOLD_S) * FRAMES_PER_S)
        course[start : start + held] = draw.choice(middles)


def _sweep(course: NDArray[np.float64], draw: np.random.Generator) -> None:
    for start in _starts(len(course), draw):
        swept = int(draw.uniform(*SWEEP_S) * FRAMES_PER_S)
        end = draw.uniform(991, 2016) * HALF_US_PER_US
        part = course[start : start + swept]
        part[:] = np.linspace(part[0], end, len(part))
        course[start + len(part) :] = end
