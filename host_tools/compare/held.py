"""What comes of a setting that is held for long, from when all was seen at rest: where two ships
come to differ. Where nothing happens but that numbers grow evenly, time is skipped; what is found
so is only a way to try, until it was gone tick by tick."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from gen.response import FRAME_TICKS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from host_tools.compare.hands import Hands, Setting
    from host_tools.compare.product import Product, State

SKIPS = (512, 128, 32, 8, 2)
"""So many frames are skipped at once, the most first."""

MOST_FRAMES = 30_000
"""Ten minutes."""

MOST_STEPS = 1_200
MOST_OF_TWO = 2_500
"""So many frames are reckoned, at most, for one setting after another."""


def found_by_holding(
    product: Product, settings: Sequence[Setting]
) -> tuple[tuple[Setting, ...], int] | None:
    """The way, and the tick, on which one of these shows a difference first."""
    hands = product.hands
    rest = hands.settings[0]
    rests = np.array([rest_frames(hands, one) for one in settings])
    if not len(rests):
        return None
    rows, period = len(settings), hands.period_frames
    given = product.columns(settings)
    still = product.columns([rest] * rows)
    state = {name: np.repeat(column, rows) for name, column in product.start().items()}
    changes: dict[object, NDArray[np.int64]] | None = None
    frame = steps = 0
    while frame < MOST_FRAMES and steps < MOST_STEPS:
        steps += 1
        late = frame >= rests
        said = {name: np.where(late, column, still[name]) for name, column in given.items()}
        first, after = product.frame(state, said, frame % period, rows)
        if (first < FRAME_TICKS).any():
            row = int(np.argmin(first))
            before = min(int(rests[row]), frame + 1)
            path = (rest,) * before + (settings[row],) * (frame + 1 - before)
            return path, frame * FRAME_TICKS + int(first[row])
        step = _changes(state, after)
        state, frame = after, frame + 1
        even = changes is not None and period == 1 and late.all() and _are_equal(step, changes)
        changes = step
        if even:
            frame += _skipped(product, state, said, step, rows)
    return None


def found_by_holding_two(
    product: Product, settings: Sequence[Setting]
) -> tuple[tuple[Setting, ...], int] | None:
    """The same of one setting held for so long that nothing happens any more, and another one
    after it: the first is then held for only as long as it must be."""
    hands = product.hands
    best: tuple[tuple[Setting, ...], int] | None = None
    budget = _Budget()
    for one in settings[1:]:
        begun = (hands.settings[0],) * rest_frames(hands, one)
        frames = _settled(product, begun, one, budget)
        if frames is None:
            continue
        found = _after(product, begun + (one,) * frames, settings, budget)
        low = 0
        while found is not None and frames - low > 1:
            middle = (low + frames) // 2
            shorter = _after(product, begun + (one,) * middle, settings, budget)
            if shorter is not None and shorter[1] < found[1]:
                found, frames = shorter, middle
            else:
                low = middle
        if found is not None and (best is None or found[1] < best[1]):
            best = found
    return best


@dataclass
class _Budget:
    """How many frames may be reckoned in all."""

    left: int = MOST_OF_TWO


def _settled(
    product: Product, begun: Sequence[Setting], setting: Setting, budget: _Budget
) -> int | None:
    """After how many frames of a setting nothing changes any more; None if the ships differ by
    then, or something always does."""
    held = _Held(product, [setting], begun, budget)
    while held.steps < MOST_STEPS and budget.left > 0:
        if held.step() is not None:
            return None
        if not any(change.any() for change in held.changes.values()):
            return held.frame - len(begun)
    return None


def _after(
    product: Product, begun: Sequence[Setting], settings: Sequence[Setting], budget: _Budget
) -> tuple[tuple[Setting, ...], int] | None:
    held = _Held(product, settings, begun, budget)
    while held.frame < MOST_FRAMES and budget.left > 0:
        found = held.step()
        if found is not None:
            return found
        if not any(change.any() for change in held.changes.values()):
            return None
    return None


class _Held:
    """Settings, a row each, that are held behind a way that was gone."""

    def __init__(
        self,
        product: Product,
        settings: Sequence[Setting],
        begun: Sequence[Setting],
        budget: _Budget,
    ) -> None:
        self.budget = budget
        self.product, self.settings, self.begun = product, settings, begun
        self.rows = len(settings)
        self.given = product.columns(settings)
        self.state: State = product.start()
        self.frame = self.steps = 0
        self.changes: dict[object, NDArray[np.int64]] = {}
        for one, same in itertools.groupby(begun):
            self._go(product.columns([one]), 1, len(list(same)))
        self.state = {name: np.repeat(column, self.rows) for name, column in self.state.items()}
        self.changes = {}

    def _go(self, given: Any, rows: int, frames: int) -> None:
        """So many frames of what surely shows no difference."""
        until = self.frame + frames
        while self.frame < until:
            self._one(given, rows, until - self.frame - 1)

    def step(self) -> tuple[tuple[Setting, ...], int] | None:
        """A frame, and what may be skipped behind it; the way and tick if they differ in it."""
        frame = self.frame
        first = self._one(self.given, self.rows, MOST_FRAMES)
        if not (first < FRAME_TICKS).any():
            return None
        row = int(np.argmin(first))
        way = (*self.begun, *(self.settings[row],) * (frame + 1 - len(self.begun)))
        return way, frame * FRAME_TICKS + int(first[row])

    def _one(self, given: Any, rows: int, most: int) -> NDArray[np.int64]:
        product, period = self.product, self.product.hands.period_frames
        first, after = product.frame(self.state, given, self.frame % period, rows)
        changes = _changes(self.state, after)
        even = period == 1 and bool(self.changes) and _are_equal(changes, self.changes)
        self.state, self.changes = after, changes
        self.frame, self.steps = self.frame + 1, self.steps + 1
        self.budget.left -= 1
        if even and (first == FRAME_TICKS).all():
            self.frame += _skipped(product, self.state, given, changes, rows, most)
        return first


def rest_frames(hands: Hands, setting: Setting) -> int:
    """For how long what is moved must have been at rest to be obeyed."""
    settle = 0
    for number, thumb in enumerate(hands.thumbs):
        if setting.widths[number] != hands.settings[0].widths[number]:
            for side, index in thumb.controls:
                settle = max(settle, hands.plans[side].controls[index].settle_pulses)
    return settle * hands.period_frames + (hands.period_frames > 1)


def _changes(before: State, after: State) -> dict[object, NDArray[np.int64]]:
    return {
        name: np.asarray(after[name], np.int64) - np.asarray(before[name], np.int64)
        for name in after
    }


def _are_equal(
    one: dict[object, NDArray[np.int64]], other: dict[object, NDArray[np.int64]]
) -> bool:
    return all(np.array_equal(one[name], other[name]) for name in one)


def _skipped(  # noqa: PLR0917 - a frame, and what came of it
    product: Product,
    state: State,
    given: dict[tuple[str, int, int], NDArray[np.int64]],
    step: dict[object, NDArray[np.int64]],
    rows: int,
    most: int = MOST_FRAMES,
) -> int:
    """Skips as many frames as still go on in the same way behind them; changes `state`."""
    for skip in (one for one in SKIPS if one <= most):
        ahead = {
            name: (column + skip * step[name]).astype(column.dtype)
            if column.dtype != np.bool_
            else column
            for name, column in state.items()
        }
        if not product.is_within_bounds(ahead):
            continue
        first, after = product.frame(ahead, given, 0, rows)
        if (first == FRAME_TICKS).all() and _are_equal(_changes(ahead, after), step):
            state.update(ahead)
            return skip
    return 0
