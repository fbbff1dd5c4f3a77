"""Which pulses of a channel are the marker of a shared one.

A marker lies beyond everything that slots can say, so that a valley of the density parts it from
them, and it comes round regularly for as long as the transmitter is on. Both ends are looked at;
from the outermost valley inwards the first is taken whose pulses come round.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.levels import density, levels

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from host_tools.learn.train import Train

BANDWIDTHS_HALF_US = (2.0, 6.0, 14.0)
"""Kernels for a noise that is not known yet: from none to 7 us."""

SHARE_LEAST = 0.01
"""A cycle of 24 slots has one marker in 25 pulses, and some are missed."""

SEEN_LEAST = 3
"""Fewer pulses are no level but glitches."""

SHARE_MOST = 0.45
AWAY_HALF_US = 40
"""A marker lies further from what slots say: the plan wants it to be 20 us wide at least."""

WITHOUT_OUTLIERS = 0.98
REGULAR = 0.25
"""Rounds whose length differs from the usual one by more than this share are none of one cycle."""

ROUNDS_LEAST = 6
CYCLE_LEAST = 3
"""A marker and two slots."""

ODD_MORE = 10
"""A slot that is the marker's rival was away for so many rounds: faults are no explanation, for
they would have struck the marker as often. At even odds that is a chance of one in a thousand."""

COVERED_LEAST = 0.6
"""So much of the recording lies within regular rounds."""


@dataclass(frozen=True, eq=False)
class Markers:
    """Pulses below `limit_half_us` (`low`), or above it, are the marker. `starts` are the frames in
    which one begins, `rounds` the frames from each to the next."""

    train: Train
    low: bool
    limit_half_us: int
    is_marker: NDArray[np.bool_]

    @cached_property
    def starts(self) -> NDArray[np.int64]:
        """The frames in which a marker begins: none of the two frames before is one."""
        frames = self.train.frame[self.is_marker]
        if not len(frames):
            return frames
        fresh = np.diff(frames) > 3  # a marker of three may have lost its middle
        return frames[np.concatenate(([True], fresh))]

    @cached_property
    def rounds(self) -> NDArray[np.int64]:
        """Frames from marker to marker."""
        return np.diff(self.starts)

    @cached_property
    def usual(self) -> float:
        """The middle round's length; not a number without rounds."""
        return float(np.median(self.rounds)) if len(self.rounds) else float("nan")

    @cached_property
    def regular(self) -> NDArray[np.bool_]:
        """Which rounds are about as long as usual."""
        return np.asarray(np.abs(self.rounds - self.usual) <= max(1, REGULAR * self.usual))

    @property
    def odd_rounds(self) -> int:
        """How many rounds are not."""
        return int((~self.regular).sum())

    @cached_property
    def centre_half_us(self) -> float:
        """How wide a marker is."""
        return float(np.median(self.train.widths[self.is_marker]))

    def beyond_half_us(self, travel: tuple[float, float]) -> float:
        """How far it lies beyond what the transmitter's other levers reach."""
        low, high = travel
        return low - self.centre_half_us if self.low else self.centre_half_us - high

    def short_of(self, travel: tuple[float, float]) -> Markers:
        """The same with a limit that leaves room for all that levers reach: in this recording the
        slots may not have said it."""
        end = travel[0] if self.low else travel[1]
        half_way = round((self.centre_half_us + end) / 2)
        limit = min(self.limit_half_us, half_way) if self.low else max(self.limit_half_us, half_way)
        inside = self.train.widths < limit if self.low else self.train.widths > limit
        if inside.sum() < WITHOUT_OUTLIERS * self.is_marker.sum():
            return self  # what levers reach lies beyond the marker: no help
        return Markers(self.train, self.low, limit, inside)

    @property
    def comes_round(self) -> bool:
        """Whether this can be a marker at all."""
        if self.regular.sum() < ROUNDS_LEAST or self.usual < CYCLE_LEAST:
            return False
        covered = self.rounds[self.regular].sum()
        return bool(covered >= COVERED_LEAST * (self.train.frame[-1] + 1))


@dataclass(frozen=True)
class Chosen:
    """The marker, or what is most like one; `why` it and nothing else is one, "" if that is not
    known."""

    markers: Markers
    why: str


def candidates(train: Train) -> tuple[Markers, ...]:
    """What may be the marker: at most one for each end; nothing if this is no shared channel."""
    found = (_outermost(train, low=low) for low in (True, False))
    return tuple(one for one in found if one is not None)


def choose(found: tuple[Markers, ...], travel: tuple[float, float] | None) -> Chosen:
    """The marker among candidates. `travel` are the widths that the transmitter's other levers
    reach, None if none was moved.

    A switch that stands at its other end, and is the only one to, comes round as regularly as the
    marker does. Then the one is the marker that lies beyond what levers reach or, if that is not
    known, that came round when others did, too.
    """
    if len(found) == 1:
        return Chosen(found[0], "nothing else comes round as regularly")
    if travel is not None:
        near, far = sorted(found, key=lambda one: one.beyond_half_us(travel))
        beyond = far.beyond_half_us(travel)
        if beyond >= AWAY_HALF_US and near.beyond_half_us(travel) <= beyond / 2:
            end = "least" if far.low else "most"
            return Chosen(far, f"it lies {beyond / 2:.0f} us beyond the {end} that levers reach")
    better, worse = sorted(found, key=lambda one: one.odd_rounds)
    if worse.odd_rounds - better.odd_rounds >= ODD_MORE and not better.odd_rounds:
        return Chosen(better, "it is there in every round, whatever else moves")
    return Chosen(better, "")


def _outermost(train: Train, *, low: bool) -> Markers | None:
    for limit in _limits(train.widths, low=low):
        inside = train.widths < limit if low else train.widths > limit
        markers = Markers(train, low, limit, inside)
        if markers.comes_round:
            return markers
    return None


def _limits(widths: NDArray[np.int64], *, low: bool) -> Iterator[int]:
    """Widths in valleys of the density, from this end inwards."""
    limits: dict[int, int] = {}  # by how many pulses lie beyond: two kernels find the same valley
    for bandwidth in BANDWIDTHS_HALF_US:
        gathered = levels(widths, bandwidth, SEEN_LEAST)
        gathered = gathered if low else gathered[::-1]
        for outer, inner in itertools.pairwise(gathered):
            if abs(inner.centre - outer.centre) >= AWAY_HALF_US:
                limit = _between(widths, outer.centre, inner.centre, bandwidth)
                limits[int(np.sum(widths < limit if low else widths > limit))] = limit
    for beyond, limit in sorted(limits.items()):
        if SHARE_LEAST <= beyond / len(widths) <= SHARE_MOST:
            yield limit


def _between(widths: NDArray[np.int64], one: float, other: float, bandwidth: float) -> int:
    """The middle of the longest stretch between two levels in which hardly any pulse lies."""
    first, last = sorted((round(one), round(other)))
    height = density(widths, bandwidth)[first : last + 1]
    flat = np.flatnonzero(height <= height.min() + 0.01 * height.max())
    return first + int((flat[0] + flat[-1]) // 2)
