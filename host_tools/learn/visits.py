"""Where a lever stood, one place after another, and how long it took from each to the next.

What is heard of a lever is a row of widths: every pulse of its channel or, of a slot, one a round.
It stands while a stretch of `window` widths lies within what its noise explains; the places are the
levels of all widths at which it stood.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_US
from host_tools.learn.levels import Level, levels

if TYPE_CHECKING:
    from numpy.typing import NDArray

STANDS_SD = 8.0
"""A hundred Gaussian widths hardly ever differ by more standard deviations than that."""

GRAIN_HALF_US = 4
"""And a coarse receiver's by so much besides."""

STANDS_US = 120_000
"""A lever that stands for a shorter time is on its way: a hand takes 0.1 s and more to turn round
(common practice, no source)."""

SHOWN = 0.25
"""Who moves a control to each of its ends twice leaves it there for longer than that share of the
time; strays are rarer."""

SHOWN_LEAST = 8

WINDOW_LEAST, WINDOW_MOST = 4, 40


@dataclass(frozen=True)
class Visit:
    """It stood at `level` (an index) from the `first` to the `last` of the widths."""

    level: int
    first: int
    last: int


@dataclass(frozen=True, eq=False)
class Heard:
    """What was heard of one lever: the tick and the width (half microseconds) of each, the time
    between two of them, and the noise on them."""

    at: NDArray[np.int64]
    widths: NDArray[np.int64]
    every_us: float
    noise_half_us: float
    in_slot: bool = False
    stands_least: int = WINDOW_LEAST
    """Of so many widths in a row one place is made: of fewer strays could be one."""

    @property
    def tolerance_half_us(self) -> float:
        """How much two widths of a lever that stands may differ."""
        return STANDS_SD * self.noise_half_us + GRAIN_HALF_US

    @cached_property
    def stands(self) -> NDArray[np.bool_]:
        """At which widths the lever stands."""
        window = min(max(self.stands_least, round(STANDS_US / self.every_us)), WINDOW_MOST)
        stands = np.zeros(len(self.widths), bool)
        if len(self.widths) < window:
            return stands
        seen = np.lib.stride_tricks.sliding_window_view(self.widths, window)
        calm = np.flatnonzero(np.ptp(seen, axis=1) <= self.tolerance_half_us)
        edges = np.zeros(len(self.widths) + 1, np.int64)
        np.add.at(edges, calm, 1)
        np.add.at(edges, calm + window, -1)
        return np.asarray(np.cumsum(edges)[:-1] > 0)

    @cached_property
    def levels(self) -> tuple[Level, ...]:
        """The places at which it stood. Two that lie within the noise are one."""
        standing = self.widths[self.stands]
        if not len(standing):
            return ()
        found: list[Level] = []
        for level in levels(standing, max(4.0, 2.5 * self.noise_half_us), self.stands_least):
            if found and level.centre - found[-1].centre < self.tolerance_half_us:
                found.append(found.pop().with_next(level))
            else:
                found.append(level)
        return tuple(found)

    @cached_property
    def visits(self) -> tuple[Visit, ...]:
        """Where it stood, in order. Single widths between two visits of one place part nothing."""
        if not self.levels:
            return ()
        edges = np.array([level.high for level in self.levels[:-1]])
        which = np.where(self.stands, np.searchsorted(edges, self.widths), -1)
        turns = np.flatnonzero(np.diff(which)) + 1
        found: list[Visit] = []
        begins = np.concatenate(([0], turns))
        ends = np.concatenate((turns, [len(which)]))
        for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
            level = int(which[begin])
            if level < 0:
                continue
            if found and found[-1].level == level:
                found[-1] = Visit(level, found[-1].first, end - 1)
            else:
                found.append(Visit(level, begin, end - 1))
        return tuple(found)

    @cached_property
    def on_its_way(self) -> NDArray[np.int64]:
        """How many widths lie between each two places."""
        visits = self.visits
        pairs = itertools.pairwise(visits)
        return np.array([after.first - before.last - 1 for before, after in pairs], np.int64)

    @cached_property
    def gaps(self) -> NDArray[np.float64]:
        """How many widths could have come, and did not, between each two places: rounds that were
        dropped may have said anything."""
        visits = self.visits
        pairs = itertools.pairwise(visits)
        apart = [self.at[after.first] - self.at[before.last] for before, after in pairs]
        return np.array(apart, float) * TICK_US / self.every_us - 1 - self.on_its_way

    def moved_between(self, begin: int, end: int) -> float:
        """In which share of what was heard from tick `begin` to before tick `end` it stood
        elsewhere than it mostly did; 0 if that may be strays."""
        first, last = np.searchsorted(self.at, (begin, end))
        inside = self.widths[first:last]
        if len(inside) < SHOWN_LEAST:
            return 0.0
        # Of three in a row the middle one by size: a stray alone is no move.
        inside = np.median(np.lib.stride_tricks.sliding_window_view(inside, 3), axis=1)
        elsewhere = np.abs(inside - np.median(inside)) > self.tolerance_half_us
        share = float(elsewhere.mean())
        return share if share >= SHOWN else 0.0
