"""A number for each state of a search, by which it is known again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from numpy.typing import NDArray


class StateKeys:
    """Of states that are columns by name, one row a state; the same numbers in every search."""

    def __init__(self, names: Iterable[Hashable]) -> None:
        draw = np.random.default_rng(1)
        self._weights = {name: np.uint64(draw.integers(1, 2**63) | 1) for name in names}

    def of(self, states: Mapping[Any, Any]) -> NDArray[np.uint64]:
        """A number for each row; two states share one once in 2^40 searches."""
        total = np.zeros(len(next(iter(states.values()))), np.uint64)
        for name, weight in self._weights.items():
            total = (total ^ (total >> np.uint64(29))) + states[name].astype(np.uint64) * weight
        return total
