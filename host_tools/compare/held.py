"""What comes of a setting that is held for long, from when all was seen at rest: where two ships
come to differ. Where nothing happens but that numbers grow evenly, time is skipped; what is found
so is only a way to try, until it was gone tick by tick."""

from __future__ import annotations

from typing import TYPE_CHECKING

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


def _skipped(
    product: Product,
    state: State,
    given: dict[tuple[str, int, int], NDArray[np.int64]],
    step: dict[object, NDArray[np.int64]],
    rows: int,
) -> int:
    """Skips as many frames as still go on in the same way behind them; changes `state`."""
    for skip in SKIPS:
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
