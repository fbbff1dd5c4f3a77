from __future__ import annotations

import numpy as np
import pytest

from host_tools.trace import Trace


def trace(ticks: int, at: list[int], widths: list[list[int]]) -> Trace:
    return Trace(ticks, ("a", "b"), np.array(at, np.int64), np.array(widths, np.uint16))


@pytest.mark.parametrize(
    ("ticks", "at", "widths"),
    [
        (-1, [], np.zeros((0, 2))),
        (5, [5], [[1, 2]]),
        (5, [-1], [[1, 2]]),
        (5, [3, 2], [[1, 2], [1, 2]]),
        (5, [3], [[1, 2], [1, 2]]),
        (5, [3], [[1, 2, 3]]),
    ],
)
def test_parts_that_do_not_fit_are_refused(
    ticks: int, at: list[int], widths: list[list[int]]
) -> None:
    with pytest.raises(ValueError, match=r"trace|tick"):
        trace(ticks, at, widths)


def test_equality_looks_at_every_part() -> None:
    assert trace(5, [3], [[1, 2]]) == trace(5, [3], [[1, 2]])
    assert trace(5, [3], [[1, 2]]) != trace(5, [3], [[1, 3]])
    assert trace(5, [3], [[1, 2]]) != trace(6, [3], [[1, 2]])
    assert trace(5, [3], [[1, 2]]) != trace(5, [2], [[1, 2]])
