"""The shortest way to where two ships differ, among all that a hand can go.

From power-up both ships are given frame after frame of one receiver (20 ms each); every pair of
states that can be reached is visited, nearest first, thousands at a time, and each tick is looked
at. Where there are too many, hands are looked at that move only once, twice, three times.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from gen.response import FRAME_TICKS

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


class Search:
    """Layer by layer through a product."""

    def __init__(self, product: Product) -> None:
        self.product = product
        self.settings = product.hands.settings
        self._columns = product.columns(self.settings)
        self._start = product.start()
        draw = np.random.default_rng(1)
        self._weights = {
            name: np.uint64(draw.integers(1, 2**63) | 1) for name in self._start
        }
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
        product, period = self.product, self.product.hands.period_frames
        counts = most_moves < ANY_NUMBER
        heard = [n for n, one in enumerate(self.settings) if not (calm and one.lost)]
        few = np.array(heard, np.int64)
        layer, first = self._behind(after)
        if first is not None:
            return first
        known = np.array([self._key(layer)[0]], np.uint64)
        last, used = np.zeros(1, np.int64), np.zeros(1, np.int64)
        trail: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        visited = 0
        while True:
            rows = len(next(iter(layer.values()))) if layer else 0
            frames = len(after) + len(trail)
            exact = not counts and product.hands.whole and not after
            certain = frames * FRAME_TICKS if exact else 0
            if not rows:
                return Found(None, 0, certain, whole=exact)
            frame = frames % period
            choices = few if counts else self._by_frame[frame]
            visited += rows * (1 if counts else len(choices))
            if visited > most_states or frames >= most_frames:
                return Found(None, 0, certain, whole=False)
            parents = np.repeat(np.arange(rows), len(choices))
            chosen = np.tile(choices, rows)
            if counts:
                may = (chosen == last[parents]) | (used[parents] < most_moves)
                parents, chosen = parents[may], chosen[may]
            state = {name: column[parents] for name, column in layer.items()}
            given = {name: column[chosen] for name, column in self._columns.items()}
            first, later = product.frame(state, given, frame, len(parents))
            if product.keeps and not counts:
                off = np.full(rows, len(self.settings))
                parents, chosen = np.append(parents, np.arange(rows)), np.append(chosen, off)
                first = np.append(first, np.full(rows, FRAME_TICKS))
                back = product.after_power(layer)
                later = {name: np.append(one, back[name]) for name, one in later.items()}
            soonest = int(first.min())
            trail.append((parents, chosen))
            if soonest < FRAME_TICKS:
                path = (*after, *self._path(trail, int(np.argmin(first))))
                tick = frames * FRAME_TICKS + soonest
                return Found(path, tick, tick if exact else 0, whole=False)
            keys = self._key(later)
            if period > 1:
                keys ^= np.uint64((frame + 1) % period * 0x9E3779B97F4A7C15 % 2**64)
            if counts:
                moved = used[parents] + (chosen != last[parents])
                keys = (keys * np.uint64(31) + chosen.astype(np.uint64)) * np.uint64(31)
                keys += moved.astype(np.uint64)
            _, fresh = np.unique(keys, return_index=True)
            place = np.searchsorted(known, keys[fresh])
            seen = known[np.minimum(place, len(known) - 1)] == keys[fresh]
            fresh = np.sort(fresh[~seen])
            trail[-1] = (parents[fresh], chosen[fresh])
            known = np.union1d(known, keys[fresh])
            layer = {name: column[fresh] for name, column in later.items()}
            if counts:
                last, used = chosen[fresh], moved[fresh]

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

    def _key(self, states: State) -> NDArray[np.uint64]:
        """A number for each state; two states share one once in 2^40 searches."""
        total = np.zeros(len(next(iter(states.values()))), np.uint64)
        for name, weight in self._weights.items():
            total = (total ^ (total >> np.uint64(29))) + states[name].astype(np.uint64) * weight
        return total

    def _path(
        self, trail: Sequence[tuple[NDArray[np.int64], NDArray[np.int64]]], row: int
    ) -> tuple[Setting, ...]:
        path = []
        for parents, chosen in reversed(trail):
            choice = int(chosen[row])
            off = choice == len(self.settings)
            path.append(
                replace(self.settings[0], power=True) if off else self.settings[choice]
            )
            row = int(parents[row])
        return tuple(reversed(path))
