from __future__ import annotations

import numpy as np
import pytest

from gen.plan import FORCE, NO_FORCE, force_of
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


def test_what_is_forced_can_be_left_out() -> None:
    quiet = trace(9, [3], [[1, 2]]).with_readings(("level", FORCE), [(1, 0, 7), (4, 1, NO_FORCE)])
    forced = quiet.with_readings(("level", FORCE), [(1, 0, 7), (4, 1, force_of(0, 1))])
    assert forced.has_forces
    assert not quiet.has_forces
    assert not trace(9, [3], [[1, 2]]).has_forces
    left = forced.without_forces()
    assert left.sensors == ("level",)
    assert [part.tolist() for part in left.felt] == [[1], [0], [7]]
    assert left.at.tolist() == forced.at.tolist()
    assert left.without_forces() is left


def test_no_force_outlives_the_power() -> None:
    felt = [(1, 0, 7), (4, 1, force_of(0, 1)), (8, 1, force_of(1, 0))]
    whole = trace(20, [3], [[1, 2]]).with_readings(("level", FORCE), felt)
    after = whole.part(6, 20, b"")
    assert list(zip(*(part.tolist() for part in after.felt), strict=True)) == [
        (0, 0, 7),
        (0, 1, NO_FORCE),
        (2, 1, force_of(1, 0)),
    ]
