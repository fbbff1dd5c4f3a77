"""One channel's pulses in a row, and the frames that they came in.

A trace knows only the tick in which a pulse ended, and its width, so that it is known to a tick
when it began. `_steps` follows the train from pulse to pulse with an expectation that is pulled
into what is known of each beginning, so that the count of frames between two pulses is right
although some frames are hardly longer than a tick.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import HALF_US_PER_US, TICK_US

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.trace import Trace

TICK_HALF_US = TICK_US * HALF_US_PER_US

ROUNDS = 4
"""The period is reckoned anew from the count of frames that it gave, until that stays."""

STRETCH_FRAMES = 40
"""Jitter is what is left of a straight line through so many frames: clocks drift."""

OUT_TICKS = 1.0
"""Both ends of a stretch are known to a tick; one that is further out has lost a pulse."""

EARLY = 0.2
"""A pulse may come earlier than expected by this share of a frame and still be that frame's."""

PAUSE_FRAMES = 8
"""A longer silence is none of single frames."""


@dataclass(frozen=True, eq=False)
class Train:
    """`at` holds the tick of each pulse, `widths` (half microseconds) how wide it was."""

    name: str
    at: NDArray[np.int64]
    widths: NDArray[np.int64]

    @classmethod
    def of(cls, trace: Trace, column: int) -> Train:
        """A channel of a trace."""
        widths = trace.widths_half_us[:, column].astype(np.int64)
        rows = np.flatnonzero(widths)
        return cls(trace.channels[column], trace.at[rows], widths[rows])

    def part(self, begin: int, end: int) -> Train:
        """The pulses from tick `begin` to before tick `end`."""
        first, last = np.searchsorted(self.at, (begin, end))
        return Train(self.name, self.at[first:last], self.widths[first:last])

    def __len__(self) -> int:
        return len(self.at)

    @cached_property
    def _followed(self) -> tuple[float, NDArray[np.int64]]:
        """The frame period in ticks, and how many frames lie between two pulses."""
        begins = self.at - self.widths / TICK_HALF_US
        between = np.diff(begins)
        if not len(between):
            return math.nan, np.zeros(0, np.int64)
        period = float(between.mean())
        for _ in range(ROUNDS):  # without the gaps that missing pulses leave
            period = float(between[between <= 1.5 * period + 1].mean())
        frames = _steps(begins, period)
        for _ in range(ROUNDS):
            once = frames <= PAUSE_FRAMES
            better = float(between[once].sum() / max(frames[once].sum(), 1))
            if abs(better - period) < 1e-5 * period:
                break
            period = better
            frames = _steps(begins, period)
        return period, frames

    @cached_property
    def period_us(self) -> float:
        """The time from one frame to the next; not a number with fewer than two pulses.

        Where a frame is hardly longer than a tick, a missing pulse is overlooked now and then. So
        it is the mean over all stretches of STRETCH_FRAMES but those that are a frame out; with one
        pulse of sixteen missing it is still right to half a per cent.
        """
        period = self._followed[0]
        begins = self.at - self.widths / TICK_HALF_US
        last = np.searchsorted(self.frame, self.frame + STRETCH_FRAMES)
        first = np.flatnonzero(last < len(self))
        first = first[self.frame[last[first]] - self.frame[first] == STRETCH_FRAMES]
        took = begins[last[first]] - begins[first]
        for _ in range(ROUNDS):
            near = took[np.abs(took - period * STRETCH_FRAMES) <= OUT_TICKS]
            if len(near) < STRETCH_FRAMES:
                break
            period = float(near.mean()) / STRETCH_FRAMES
        return period * TICK_US

    @property
    def frames_between(self) -> NDArray[np.int64]:
        """How many frames lie between each two pulses: 1 unless some are missing."""
        return self._followed[1]

    @cached_property
    def frame(self) -> NDArray[np.int64]:
        """The number of each pulse's frame."""
        return np.concatenate(([0], np.cumsum(self.frames_between)))[: len(self)]

    @property
    def missing(self) -> int:
        """How many frames went by without a pulse between two that came soon one after another."""
        between = self.frames_between
        return int((between[between <= PAUSE_FRAMES] - 1).sum())

    @property
    def jitter_us(self) -> float:
        """The standard deviation of the time of a frame. What the grain of a tick adds to it, a
        twelfth of its square, is taken off (Sheppard, 1898, from memory)."""
        count = len(self) // STRETCH_FRAMES
        if not count:
            return math.nan
        frame = self.frame[: count * STRETCH_FRAMES].reshape(count, -1).astype(float)
        begins = self.at - self.widths / TICK_HALF_US
        at = begins[: count * STRETCH_FRAMES].reshape(count, -1)
        frame -= frame.mean(axis=1, keepdims=True)
        at -= at.mean(axis=1, keepdims=True)
        left = at - frame * self._followed[0]
        variance = float(np.median(left.var(axis=1, ddof=1))) - 1 / 12
        return math.sqrt(max(variance, 0)) * TICK_US


def _steps(begins: NDArray[np.float64], period: float) -> NDArray[np.int64]:
    """How many frames of `period` ticks lie between each two pulses, each of which began within a
    tick from `begins` on."""
    steps = []
    stands = float(begins[0]) + 0.5
    for begin in begins.tolist()[1:]:
        frames = max(1, math.ceil((begin - stands) / period - EARLY))
        stands = min(max(stands + frames * period, begin), begin + 1)
        steps.append(frames)
    return np.array(steps, np.int64)
