"""Where widths gather: the noise, and the levels that pulses come back to.

The density of widths is estimated with a Gaussian kernel (Rosenblatt, 1956; Parzen, 1962). A level
is what lies between two valleys of it. The noise is reckoned from the differences of successive
pulses (von Neumann, 1941), of their lowest three quarters, which neither moves nor glitches disturb
(a trimmed deviation); on one level, by the median absolute deviation (Hampel, 1974). All from
memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

WIDEST_HALF_US = 6_000
"""No servo pulse is wider (3 ms, common practice, no source)."""

GRAIN_HALF_US = 0.5
"""Widths are whole half microseconds: what is rounded so has at least this noise."""

SD_OF_MEDIAN = 1.4826
"""A Gaussian's standard deviation, in median absolute deviations."""

VALLEY = 0.25
"""Two levels are two if the density between them falls below this share of the lower one's."""

CALM = 75
"""Per cent of all differences are noise and nothing else."""

REACH_SD = 4.0
"""A kernel ends here: less than one in ten thousand lies further out."""


@dataclass(frozen=True)
class Level:
    """Widths from `low` to `high`, both included, gather around `centre` (half microseconds);
    `count` pulses lie there."""

    centre: float
    low: int
    high: int
    count: int

    def with_next(self, upper: Level) -> Level:
        """This one and its upper neighbour as one."""
        count = self.count + upper.count
        centre = (self.centre * self.count + upper.centre * upper.count) / count
        return Level(centre, self.low, upper.high, count)


def noise_half_us(widths: NDArray[np.int64]) -> float:
    """The standard deviation of the noise on one train, half microseconds."""
    if len(widths) < 3:
        return GRAIN_HALF_US
    moves = np.sort(np.abs(np.diff(widths)).astype(float))
    calm = moves[: max(1, CALM * len(moves) // 100)]
    # The root mean square of the lowest three quarters of a Gaussian's absolute values is 0.607 of
    # its deviation; that of a difference is sqrt(2) times the noise.
    return max(GRAIN_HALF_US, float(np.sqrt(np.mean(calm**2))) / (0.607 * math.sqrt(2)))


def spread_half_us(widths: NDArray[np.int64]) -> float:
    """The standard deviation of widths that belong to one level, by their median deviation."""
    if not len(widths):
        return GRAIN_HALF_US
    off = np.abs(widths - np.median(widths))
    return max(GRAIN_HALF_US, SD_OF_MEDIAN * float(np.median(off)))


def density(widths: NDArray[np.int64], bandwidth_half_us: float) -> NDArray[np.float64]:
    """How many pulses lie about each width from 0 to WIDEST_HALF_US, a half microsecond each."""
    counts = np.bincount(np.clip(widths, 0, WIDEST_HALF_US), minlength=WIDEST_HALF_US + 1)
    reach = int(np.ceil(REACH_SD * bandwidth_half_us))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / bandwidth_half_us) ** 2)
    return np.convolve(counts.astype(float), kernel / kernel.sum(), "same")


def levels(
    widths: NDArray[np.int64], bandwidth_half_us: float, least: int = 1
) -> tuple[Level, ...]:
    """The levels of at least `least` pulses each, in rising order."""
    height = density(widths, bandwidth_half_us)
    ordered = np.sort(widths)
    found = []
    for low, high in _between_valleys(height):
        first, last = np.searchsorted(ordered, (low, high + 1))
        if last - first >= least:
            inside = ordered[first:last]
            found.append(Level(float(np.median(inside)), low, high, int(last - first)))
    return tuple(found)


def _between_valleys(height: NDArray[np.float64]) -> list[tuple[int, int]]:
    """The stretches between the valleys of a density."""
    inner = height[1:-1]
    peaks = np.flatnonzero((inner > height[:-2]) & (inner >= height[2:]) & (inner > 1e-9)) + 1
    if not len(peaks):
        return []
    stretches: list[tuple[int, int]] = []
    begin, summit = 0, int(peaks[0])
    for peak in peaks[1:].tolist():
        valley = summit + int(np.argmin(height[summit : peak + 1]))
        if height[valley] <= VALLEY * min(height[summit], height[peak]):
            flat = np.flatnonzero(height[summit : peak + 1] <= height[valley] + 1e-12) + summit
            middle = int((flat[0] + flat[-1]) // 2)
            stretches.append((begin, middle))
            begin, summit = middle + 1, peak
        elif height[peak] > height[summit]:
            summit = peak
    return [*stretches, (begin, len(height) - 1)]
