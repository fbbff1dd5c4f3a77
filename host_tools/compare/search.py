"""The shortest way to where two ships differ, among all that a hand can go.

From power-up both ships are given frame after frame of one receiver (20 ms each); every pair of
states that can be reached is visited, nearest first, thousands at a time, and each tick is looked
at. Where there are too many, hands are looked at that move only once, twice, three times.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from gen.response import FRAME_TICKS
from host_tools.prove.state_keys import StateKeys

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from host_tools.compare.hands import Setting
    from host_tools.compare.product import Product, State

MOST_FRAMES = 9_000
"""Three minutes: no hand is looked at for longer."""

ANY_NUMBER = 1 << 30


@dataclass(frozen=True)
class Found:
    """What a search came to. `path` is what was set in each frame until the ships differ (None:
    they were not seen to), `tick` when they do; in `certain_ticks` they surely do not, whatever is
    done. `whole`: every state that there is was visited."""

    path: tuple[Setting, ...] | None
    tick: int
    certain_ticks: int
    whole: bool


class _Walk:
    """Which states are known, what was set last before those of this layer, and how often that was
    something else than before."""

    def __init__(self, most_moves: int, start: NDArray[np.uint64]) -> None:
        self.most_moves = most_moves
        self.counts = most_moves < ANY_NUMBER
        self.known = start[:1]
        self.last = np.zeros(1, np.int64)
        self.used = np.zeros(1, np.int64)

    def spread(self, choices: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Each state of the layer with each choice that there may be."""
        parents = np.repeat(np.arange(len(self.last)), len(choices))
        chosen = np.tile(choices, len(self.last))
        if self.counts:
            may = (chosen == self.last[parents]) | (self.used[parents] < self.most_moves)
            parents, chosen = parents[may], chosen[may]
        return parents, chosen

    def fresh(
        self, keys: NDArray[np.uint64], parents: NDArray[np.int64], chosen: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        """The rows of states that were never there: the next layer."""
        moved = self.used[parents] + (chosen != self.last[parents])
        if self.counts:
            keys = (keys * np.uint64(31) + chosen.astype(np.uint64)) * np.uint64(31)
            keys += moved.astype(np.uint64)
        _, rows = np.unique(keys, return_index=True)
        place = np.searchsorted(self.known, keys[rows])
        seen = self.known[np.minimum(place, len(self.known) - 1)] == keys[rows]
        rows = np.sort(rows[~seen])
        self.known = np.union1d(self.known, keys[rows])
        self.last, self.used = chosen[rows], moved[rows]
        return rows


class Search:
    """Layer by layer through a product."""

    def __init__(self, product: Product) -> None:
        self.product = product
        self.settings = product.hands.settings
        self._columns = product.columns(self.settings)
        self._start = product.start()
        self._keys = StateKeys(self._start)
        period = product.hands.period_frames
        self._by_frame = [self._told_apart(frame) for frame in range(period)]

    def run(
        self,
        most_moves: int,
        most_states: int,
        *,
        calm: bool = False,
        most_frames: int = MOST_FRAMES,
        after: Sequence[Setting] = (),
    ) -> Found:
        """Until they differ, or everything or so many states were visited. `calm`: no channel is
        ever lost. `after`: only ways that begin with this."""
        layer, found = self._behind(after)
        if found is not None:
            return found
        product, period = self.product, self.product.hands.period_frames
        exact = most_moves == ANY_NUMBER and product.hands.whole and not after
        walk = _Walk(most_moves, self._keys.of(layer))
        few = np.array([n for n, one in enumerate(self.settings) if not (calm and one.lost)])
        trail: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        visited = 0
        while len(walk.last):
            frames = len(after) + len(trail)
            choices = few if walk.counts else self._by_frame[frames % period]
            parents, chosen = walk.spread(choices)
            visited += len(parents)
            if visited > most_states or frames >= most_frames:
                return Found(None, 0, frames * FRAME_TICKS if exact else 0, whole=False)
            first, parents, chosen, later = self._frame(layer, parents, chosen, frames % period)
            trail.append((parents, chosen))
            if (first < FRAME_TICKS).any():
                path = (*after, *self._path(trail, int(np.argmin(first))))
                tick = frames * FRAME_TICKS + int(first.min())
                return Found(path, tick, tick if exact else 0, whole=False)
            keys = self._keys.of(later)
            if period > 1:
                keys ^= np.uint64((frames + 1) % period * 0x9E3779B97F4A7C15 % 2**64)
            fresh = walk.fresh(keys, parents, chosen)
            trail[-1] = (parents[fresh], chosen[fresh])
            layer = {name: column[fresh] for name, column in later.items()}
        certain = (len(after) + len(trail)) * FRAME_TICKS if exact else 0
        return Found(None, 0, certain, whole=exact)

    def _frame(
        self, layer: State, parents: NDArray[np.int64], chosen: NDArray[np.int64], frame: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64], State]:
        """A frame later: in which tick of it they differ, from which state by which choice, and
        what they became. Where anything outlives the power, that goes off and on, too."""
        product = self.product
        state = {name: column[parents] for name, column in layer.items()}
        given = {name: column[chosen] for name, column in self._columns.items()}
        first, later = product.frame(state, given, frame, len(parents))
        if product.keeps:
            rows = np.arange(len(next(iter(layer.values()))))
            back = product.after_power(layer)
            parents = np.append(parents, rows)
            chosen = np.append(chosen, np.full(len(rows), len(self.settings)))
            first = np.append(first, np.full(len(rows), FRAME_TICKS))
            later = {name: np.append(one, back[name]) for name, one in later.items()}
        return first, parents, chosen, later

    def _behind(self, begun: Sequence[Setting]) -> tuple[State, Found | None]:
        """The state behind a way, from power-up; what was found on it, if anything was."""
        product, state = self.product, self._start
        for frame, one in enumerate(begun):
            if one.power:
                state = product.after_power(state)
                continue
            given = product.columns([one])
            first, state = product.frame(state, given, frame % product.hands.period_frames, 1)
            if first[0] < FRAME_TICKS:
                tick = frame * FRAME_TICKS + int(first[0])
                return state, Found(tuple(begun[: frame + 1]), tick, 0, whole=False)
        return state, None

    def _told_apart(self, frame: int) -> NDArray[np.int64]:
        """Settings that can be told apart in this frame: of a shared channel only one thumb is."""
        hands = self.product.hands
        heard = {
            hands.said(channel, side, frame)
            for channel, pair in enumerate(hands.channels)
            for side in (0, 1)
            if pair[side] is not None
        }
        kept: dict[object, int] = {}
        for number, one in enumerate(self.settings):
            widths = tuple(width for thumb, width in enumerate(one.widths) if thumb in heard)
            kept.setdefault((widths, one.lost, one.readings), number)
        return np.array(list(kept.values()), np.int64)

    def _path(
        self, trail: Sequence[tuple[NDArray[np.int64], NDArray[np.int64]]], row: int
    ) -> tuple[Setting, ...]:
        path = []
        for parents, chosen in reversed(trail):
            choice = int(chosen[row])
            off = choice == len(self.settings)
            path.append(replace(self.settings[0], power=True) if off else self.settings[choice])
            row = int(parents[row])
        return tuple(reversed(path))
