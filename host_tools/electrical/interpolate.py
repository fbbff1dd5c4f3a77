"""Between the points of a published table."""

from __future__ import annotations

import math
from bisect import bisect_right
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def straight(points: Sequence[tuple[float, float]], at: float) -> float:
    """The value at `at` on the straight line between the two points beside it; outside, that of the
    nearest point. `points` are (x, y) with x rising, at least one."""
    at = min(max(at, points[0][0]), points[-1][0])
    after = min(max(bisect_right(points, (at, math.inf)), 1), len(points) - 1)
    if after == 0:
        return points[0][1]
    (x0, y0), (x1, y1) = points[after - 1], points[after]
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)


def power_law(points: Sequence[tuple[float, float]], at: float) -> float:
    """The value at `at` on the straight line in log-log paper: y = a * x^b between two points, and
    outside with the power of the nearest two. All numbers are above 0; at least two points."""
    after = min(max(bisect_right(points, (at, math.inf)), 1), len(points) - 1)
    (x0, y0), (x1, y1) = points[after - 1], points[after]
    if at in (x0, x1):
        return y0 if at == x0 else y1  # the table's own value, to the last digit
    return float(y0 * (at / x0) ** (math.log(y1 / y0) / math.log(x1 / x0)))
