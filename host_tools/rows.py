"""Pulses one by one -> the rows of a trace."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


def as_rows(
    at: ArrayLike, inputs: ArrayLike, widths: ArrayLike, columns: int
) -> tuple[NDArray[np.int64], NDArray[np.uint16]]:
    """The tick of each row, and the rows. Pulses of one input stand in their order; a row holds one
    pulse an input, so that the second pulse of a tick opens a second row."""
    ticks, column = np.asarray(at, np.int64), np.asarray(inputs, np.int64)
    order = np.lexsort((np.arange(len(ticks)), column, ticks))
    group = (ticks * columns + column)[order]
    place = np.empty(len(group), dtype=np.int64)
    place[order] = np.arange(len(group)) - np.searchsorted(group, group)
    deepest = int(place.max(initial=0)) + 1
    keys, rows = np.unique(ticks * deepest + place, return_inverse=True)
    table = np.zeros((len(keys), columns), dtype=np.uint16)
    table[rows, column] = widths
    return keys // deepest, table
