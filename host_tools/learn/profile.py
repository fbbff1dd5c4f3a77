"""How many slots a round has, by what the rounds say, where too many frames are amiss to count.

Each round is a run through a profile: a hidden Markov model with a state a frame of the cycle, in
which a frame may also be repeated (it says what the one before it said) or skipped (Krogh and
others, 1994; the forward and backward recursions and the estimation are Baum and Welch's, as
Rabiner's tutorial of 1989 has them). For each length of the cycle what every slot says, and how
often frames are amiss, is estimated from all rounds together; lengths are compared by what that
makes of the rounds' likelihood, less what more slots cost (Schwarz, 1978). All from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.levels import levels, spread_half_us

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from host_tools.learn.markers import Markers

MARKER = 0
NO_PULSE = -1
PADDING = -2

MOST_ROUNDS = 40
ROUGH_PASSES, PASSES = 2, 5
MOST_REFINED = 3
"""Of all lengths the best few are estimated to the end."""

NEAR_LEAST = 3
SEEN_BEFORE = 0.05
"""As if every slot had said everything so often before."""

AHEAD_LEAST = 10.0
"""The natural logarithm of how much likelier the best length must be than the second. "Very
strong" begins at 5 (Kass and Raftery, 1995, from memory); twice that, for frames may depend on each
other."""


@dataclass(frozen=True, eq=False)
class Rounds:
    """What each frame of each round says: MARKER, the number of a level, NO_PULSE; behind the
    round's end PADDING. `kinds` is how many things can be said."""

    says: NDArray[np.int64]
    lengths: NDArray[np.int64]
    kinds: int

    @classmethod
    def of(cls, markers: Markers) -> Rounds:
        """The regular rounds, MOST_ROUNDS of them at most, spread over the recording."""
        train = markers.train
        noise = spread_half_us(train.widths[markers.is_marker])
        slots = train.widths[~markers.is_marker]
        found = levels(slots, max(2.0, noise), max(3, len(slots) // 500))
        edges = np.array([level.high for level in found[:-1]])
        by_frame = np.full(int(train.frame[-1]) + 1, NO_PULSE)
        by_frame[train.frame] = np.searchsorted(edges, train.widths) + 1
        by_frame[train.frame[markers.is_marker]] = MARKER
        regular = np.flatnonzero(markers.regular)
        if len(regular) > MOST_ROUNDS:
            regular = regular[np.linspace(0, len(regular) - 1, MOST_ROUNDS).astype(int)]
        begins, lengths = markers.starts[regular], markers.rounds[regular]
        place = np.arange(int(lengths.max()))
        inside = place < lengths[:, None]
        at = np.minimum(begins[:, None] + place, len(by_frame) - 1)
        return cls(np.where(inside, by_frame[at], PADDING), lengths, len(found) + 1)


@dataclass(frozen=True)
class Likely:
    """The likeliest length of a round, in frames; `ahead` is the logarithm of how much likelier it
    is than the second one."""

    whole: int
    second: int
    ahead: float
    repeated: float
    skipped: float

    @property
    def is_clear(self) -> bool:
        """Whether no other length comes near."""
        return self.ahead >= AHEAD_LEAST


def most_likely(rounds: Rounds, lengths: Sequence[int], frames: int) -> Likely | None:
    """Which of these lengths fits best; None if there are fewer than two to choose from."""
    if len(lengths) < 2:
        return None
    fitted = [_Profile(rounds, whole, frames) for whole in lengths]
    rough = sorted(fitted, key=lambda one: one.fit(ROUGH_PASSES), reverse=True)
    best, second = sorted(
        ((profile.fit(PASSES), profile) for profile in rough[:MOST_REFINED]),
        key=lambda one: one[0],
        reverse=True,
    )[:2]
    _, repeated, skipped = best[1].chances
    return Likely(best[1].whole, second[1].whole, best[0] - second[0], repeated, skipped)


class _Profile:
    """A cycle of `whole` frames. `chances`: that a frame is right, repeated, skipped."""

    def __init__(self, rounds: Rounds, whole: int, frames: int) -> None:
        self.rounds = rounds
        self.whole = whole
        self.frames = frames
        self.slot = np.arange(whole) // frames
        self.chances = (0.94, 0.03, 0.03)
        self.held = 0.02
        says = rounds.says
        self.same = np.zeros(says.shape)
        self.same[:, 1:] = (says[:, 1:] == says[:, :-1]) | (says[:, 1:] == NO_PULSE)
        self.same = np.where(self.same > 0, 0.98, 0.02 / rounds.kinds)
        self.table = self._begin()

    def _begin(self) -> NDArray[np.float64]:
        """What each slot says if rounds are stretched to the right length: those that have it, or
        nearly, if there are any."""
        says, lengths = self.rounds.says, self.rounds.lengths
        near = np.abs(lengths - self.whole) <= 1
        if near.sum() < NEAR_LEAST:
            near[:] = True
        row, place = np.nonzero((says >= 0) & near[:, None])
        state = np.minimum(place * self.whole // lengths[row], self.whole - 1)
        return self._normal(np.ones(len(row)), self.slot[state], says[row, place])

    def _normal(
        self, weight: NDArray[np.float64], slot: NDArray[np.int64], said: NDArray[np.int64]
    ) -> NDArray[np.float64]:
        table = np.full((int(self.slot[-1]) + 1, self.rounds.kinds), SEEN_BEFORE)
        np.add.at(table, (slot, said), weight)
        # Slot 0 is the marker, which no other slot says.
        table[0] = SEEN_BEFORE / 10
        table[0, MARKER] = 100.0
        table[1:, MARKER] = SEEN_BEFORE / 10
        return np.asarray(table / table.sum(axis=1, keepdims=True))

    def fit(self, passes: int) -> float:
        """Estimates everything; returns the logarithm of the likelihood, less what the length of
        the description costs."""
        likelihood = -np.inf
        for _ in range(passes):
            likelihood = self._pass()
        free = int(self.slot[-1]) * (self.rounds.kinds - 2) + 3
        return likelihood - 0.5 * free * float(np.log(max(len(self.rounds.lengths), 2)))

    def _emitted(self) -> NDArray[np.float64]:
        """How likely each frame of each round is in each state (shape: frames, rounds, states)."""
        says = self.rounds.says
        known = self.table[self.slot][:, np.maximum(says, 0)]  # states, rounds, frames
        known = np.where(says >= 0, known, 1.0)
        held = self.held * self.same
        return np.ascontiguousarray(((1 - self.held) * known + held).transpose(2, 1, 0))

    def _pass(self) -> float:
        """One step of Baum and Welch's; returns the likelihood before it."""
        says, lengths = self.rounds.says, self.rounds.lengths
        count, longest = says.shape
        goes, repeats, skips = self.chances
        emitted = self._emitted()
        ahead = np.zeros((longest, count, self.whole))
        scale = np.ones((longest, count))
        stands = np.zeros((count, self.whole))
        stands[:, 0] = goes
        stands[:, 1 if self.frames > 1 else 0] += skips
        stands *= emitted[0]
        for place in range(longest):
            if place:
                moved = repeats * self.same[:, place, None] * stands
                moved[:, 1:] += goes * stands[:, :-1] * emitted[place][:, 1:]
                moved[:, 2:] += skips * stands[:, :-2] * emitted[place][:, 2:]
                stands = moved
            sums = stands.sum(axis=1)
            sums[sums <= 0] = 1e-300
            scale[place] = sums
            stands = stands / sums[:, None]
            ahead[place] = stands
        ends = np.zeros(self.whole)
        ends[-1], ends[-2] = goes + repeats, skips
        last = ahead[lengths - 1, np.arange(count)]
        closing = np.maximum(last @ ends, 1e-300)
        inside = np.arange(longest)[:, None] < lengths
        likelihood = float(np.log(scale)[inside].sum() + np.log(closing).sum())
        self._estimate(emitted, ahead, scale, ends, closing)
        return likelihood

    def _estimate(
        self,
        emitted: NDArray[np.float64],
        ahead: NDArray[np.float64],
        scale: NDArray[np.float64],
        ends: NDArray[np.float64],
        closing: NDArray[np.float64],
    ) -> None:
        says, lengths = self.rounds.says, self.rounds.lengths
        count, longest = says.shape
        goes, repeats, skips = self.chances
        behind = np.zeros((count, self.whole))
        weights = np.zeros((longest, count, self.whole))
        counted = np.zeros(3)
        for place in range(longest - 1, -1, -1):
            at_end = lengths - 1 == place
            if place + 1 < longest:
                after = behind
                came = after * emitted[place + 1] / scale[place + 1][:, None]
                stayed = after * self.same[:, place + 1, None] / scale[place + 1][:, None]
                behind = repeats * stayed
                counted[1] += float((ahead[place] * behind).sum())
                going = np.zeros_like(behind)
                going[:, :-1] = goes * came[:, 1:]
                skipping = np.zeros_like(behind)
                skipping[:, :-2] = skips * came[:, 2:]
                counted[0] += float((ahead[place] * going).sum())
                counted[2] += float((ahead[place] * skipping).sum())
                behind = behind + going + skipping
            behind = np.where(at_end[:, None], ends / closing[:, None], behind)
            weights[place] = ahead[place] * behind
        shown = (says.T >= 0)[:, :, None]
        weights = np.where(shown, weights, 0.0)
        row, frame = np.nonzero(says >= 0)
        by_frame = weights[frame, row]
        table = np.zeros((int(self.slot[-1]) + 1, self.rounds.kinds))
        by_slot = by_frame.reshape(len(row), -1, self.frames).sum(axis=2)
        for kind in range(self.rounds.kinds):
            table[:, kind] = by_slot[says[row, frame] == kind].sum(axis=0)
        slots, kinds = np.indices(table.shape)
        self.table = self._normal(table.ravel(), slots.ravel(), kinds.ravel())
        counted += (94, 3, 3)
        goes, repeats, skips = counted / counted.sum()
        self.chances = (float(goes), float(repeats), float(skips))
