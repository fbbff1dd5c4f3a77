"""The cycle of a shared channel: how many frames a slot lasts, and how many slots there are.

Between two markers lie slots + 1 times as many frames as a slot lasts. Frames that are repeated or
skipped make single rounds longer or shorter. If a round is right unless `k` frames are amiss, and
they are amiss independently of each other, no wrong length is more frequent than 1 / e: that is the
largest value of Poisson's distribution at 1. A length that is significantly more frequent (an exact
binomial test; Clopper and Pearson, 1934, from memory) is therefore the right one. Where no length
is, the rounds' contents decide: see `profile.py`.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.finding import WRONG_MOST, Sure
from host_tools.learn.profile import Rounds, most_likely
from host_tools.learn.statistics import MOST_OF_A_WRONG_LENGTH, binomial_tail

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.learn.markers import Markers

FRAMES_MOST = 3
"""A slot lasts so many frames at most: what a plan can say."""

SLOTS_LEAST, SLOTS_MOST = 2, 40
MISFIT_MOST = 0.02
"""So unlikely it may be that half as many rounds were right as the faults that were found leave."""

CHANGES_OFTEN = 0.3
"""Where the width changes in more than this share of all right rounds a slot ends: faults are
rarer, and no slot moves in so many rounds."""


@dataclass(frozen=True)
class Scheme:
    """What was found: `slots` of `frames` frames each, and as many for the marker; `faults` are the
    shares of frames that are repeated, skipped, and without a pulse."""

    slots: int
    frames: int
    sure: Sure
    evidence: str
    surer: str
    faults: tuple[float, float, float]

    def doubted(self, doubt: str, surer: str) -> Scheme:
        """The same, but not sure."""
        evidence = f"{self.evidence}; but {doubt}"
        return replace(self, sure=Sure.NOT_SURE, evidence=evidence, surer=surer)

    def because(self, why: str) -> Scheme:
        """The same with more evidence."""
        return replace(self, evidence=f"{self.evidence}; {why}")

    @property
    def whole(self) -> int:
        """Frames of a whole round, the marker's own included."""
        return (self.slots + 1) * self.frames


def find_scheme(markers: Markers, missing: float) -> Scheme | None:
    """The scheme behind these markers, None if nothing fits; `missing` is the share of frames
    without a pulse."""
    frames, frames_sure = _frames(markers)
    rounds = markers.rounds[markers.regular]
    whole, frequent = Counter(rounds.tolist()).most_common(1)[0]
    chance = binomial_tail(len(rounds), frequent, MOST_OF_A_WRONG_LENGTH)
    if chance <= WRONG_MOST:
        return _by_length(markers, whole, frames, frames_sure, missing)
    parted = Rounds.of(markers)
    likely = most_likely(parted, _whole_lengths(rounds, frames), frames)
    if likely is None:
        return None
    expected = (1 - likely.repeated - likely.skipped) ** likely.whole
    seen = int((rounds == likely.whole).sum())
    fits = binomial_tail(len(rounds), len(rounds) - seen, 1 - expected / 2) > MISFIT_MOST
    return Scheme(
        slots=likely.whole // frames - 1,
        frames=frames,
        sure=Sure.SURE if likely.is_clear and frames_sure and fits else Sure.NOT_SURE,
        evidence=f"of {len(rounds)} rounds {frequent} have the most frequent length, which is too "
        f"few to tell; by what the rounds say {likely.whole} frames are e^{likely.ahead:.0f} times "
        f"as likely as {likely.second}",
        surer=""
        if likely.is_clear
        else "stand every second switch at another place and record "
        "two minutes more: slots that say the same cannot be counted",
        faults=(likely.repeated, likely.skipped, missing),
    )


def _by_length(
    markers: Markers, whole: int, frames: int, frames_sure: bool, missing: float
) -> Scheme | None:
    rounds = markers.rounds[markers.regular]
    changes = _changes(markers, whole)
    common = math.gcd(whole, *changes)
    right = int((rounds == whole).sum())
    evidence = (
        f"{right} of {len(rounds)} rounds from marker to marker are {whole} frames long, and the "
        f"marker lasts {frames}"
    )
    agrees = whole % frames == 0 and common % frames == 0
    slots = whole // frames - 1
    if not agrees:
        evidence += f"; but slots change every {common}"
    if not SLOTS_LEAST <= slots <= SLOTS_MOST:
        return None
    amiss = rounds - whole
    share = float(len(rounds) * whole)
    return Scheme(
        slots=slots,
        frames=frames,
        sure=Sure.SURE if agrees and frames_sure else Sure.NOT_SURE,
        evidence=evidence,
        surer="" if agrees and frames_sure else "move more of its switches while you record",
        faults=(
            float(amiss[amiss > 0].sum()) / share,
            float(-amiss[amiss < 0].sum()) / share,
            missing,
        ),
    )


def _frames(markers: Markers) -> tuple[int, bool]:
    """How many frames the marker lasts, and whether that is certain."""
    train = markers.train
    flagged = train.frame[markers.is_marker]
    first = np.searchsorted(flagged, markers.starts)
    lasts = np.diff(np.append(first, len(flagged)))
    counted = Counter(lasts.tolist())
    frames, frequent = counted.most_common(1)[0]
    chance = binomial_tail(len(lasts), frequent, MOST_OF_A_WRONG_LENGTH)
    return min(frames, FRAMES_MOST), chance <= WRONG_MOST and frames <= FRAMES_MOST


def _whole_lengths(rounds: NDArray[np.int64], frames: int) -> list[int]:
    """Lengths of a round that are worth asking for: whole slots, and no further from the mean than
    faults in every eighth frame take it."""
    mean = float(rounds.mean())
    return [
        whole
        for slots in range(SLOTS_LEAST, SLOTS_MOST + 1)
        for whole in [(slots + 1) * frames]
        if mean / 1.13 - 1 <= whole <= mean * 1.13 + 1
    ]


def _changes(markers: Markers, whole: int) -> list[int]:
    """The places in a round at which one slot ends and another begins: where the width is another
    one in most of the rounds of the right length. What divides all of them is a slot's length, as
    the greatest common divisor of distances is."""
    table = whole_rounds(markers, whole)
    if not len(table):
        return []
    both = (table[:, 1:] > 0) & (table[:, :-1] > 0)
    noise = max(2.0, float(np.median(np.abs(np.diff(table[:, :2], axis=1)))))
    noise = min(noise, 16.0)
    other = (np.abs(np.diff(table, axis=1)) > 4 * noise + 8) & both
    share = other.sum(axis=0) / np.maximum(both.sum(axis=0), 1)
    return [int(place) + 1 for place in np.flatnonzero(share > CHANGES_OFTEN)]


def whole_rounds(markers: Markers, whole: int) -> NDArray[np.int64]:
    """The widths of all rounds that are `whole` frames long, a row each; 0 where none came."""
    train = markers.train
    by_frame = np.zeros(int(train.frame[-1]) + 1, np.int64)
    by_frame[train.frame] = train.widths
    begins = markers.starts[:-1][markers.rounds == whole]
    return np.asarray(by_frame[begins[:, None] + np.arange(whole)])


def are_good(rows: NDArray[np.int64], markers: Markers, frames: int) -> NDArray[np.bool_]:
    """Which of these rounds a plan takes: every pulse is there, and from the last one of the marker
    on none is a marker."""
    limit = markers.limit_half_us
    marks = (rows < limit) if markers.low else (rows > limit)
    there = (rows > 0).all(axis=1)
    return np.asarray(there & marks[:, frames - 1] & ~marks[:, frames:].any(axis=1))
