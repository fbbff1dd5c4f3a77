"""Ways that are known, as proofs guess from them: the one to where two ships differ, and every
setting held from when everything was seen at rest."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gen.response import FRAME_TICKS
from host_tools.compare.held import rest_frames
from host_tools.compare.product import Product
from host_tools.prove.algebra import Whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from host_tools.compare.hands import Setting

HELD_TICKS = 260
"""So long each setting is held: longer than most pauses, so that a motor runs."""

MOST_HELD = 60


def known_runs(product: Product, path: Sequence[Setting]) -> list[dict[str, NDArray[np.int64]]]:
    """What both ships remember, tick by tick."""
    plain = Product(product.same, product.reached, product.asked_about, Whole())
    held = [one for one in product.hands.settings if not one.lost][:MOST_HELD]
    frames = min(HELD_TICKS // FRAME_TICKS, len(path))
    rests = [rest_frames(product.hands, one) for one in held]
    ways = [
        [held[0] if frame < rest else one for one, rest in zip(held, rests, strict=True)]
        for frame in range(min(frames, max(rests) + 1))
    ]
    return [
        _run(plain, [[one] for one in path]),
        _run(product, ways + [ways[-1]] * (frames - len(ways))),
    ]


def _run(product: Product, path: Sequence[Sequence[Setting]]) -> dict[str, NDArray[np.int64]]:
    ticks: list[dict[str, Any]] = list(product.along(path))
    return {
        name: np.array([np.atleast_1d(one[name]) for one in ticks], np.int64) for name in ticks[0]
    }
