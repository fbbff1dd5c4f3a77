"""Glass tube fuses: IEC 60127-2, quick-acting (125 mA to 10 A) and time-lag; UL 248-14 beside them.

Quick-acting: 1.5 In at least 60 min, 2.1 In at most 30 min, 2.75 In 50 ms to 2 s, 4 In 10 to 300
ms, 10 In at most 20 ms. Time-lag: 2.1 In at most 2 min, 2.75 In 0.4 to 10 s, 4 In 0.15 to 3 s;
that it bears 1.5 In for an hour and its bounds at 10 In from memory. UL 248-14: carries 100 %,
opens at 135 % within 1 h and at 200 % within 2 min. The trap: an IEC tube of 2 A carries 3 A for
an hour, at which a UL tube of the same print has long opened.
"""

from __future__ import annotations

import math

import pytest

from host_tools.electrical.figure import Given
from host_tools.electrical.fuses import BLADE, GLASS_QUICK, GLASS_SLOW, FuseKind, most_a

QUICK = {2.1: (None, 1800), 2.75: (0.05, 2), 4.0: (0.01, 0.3), 10.0: (None, 0.02)}
SLOW = {2.1: (None, 120), 2.75: (0.4, 10), 4.0: (0.15, 3), 10.0: (0.02, 0.3)}


@pytest.mark.parametrize(("kind", "table"), [(GLASS_QUICK, QUICK), (GLASS_SLOW, SLOW)])
def test_bounds_of_opening_time(
    kind: FuseKind, table: dict[float, tuple[float | None, float]]
) -> None:
    assert kind.earliest_s(1.5) == 3600
    assert math.isinf(kind.latest_s(2.09))
    for multiple, (earliest, latest) in table.items():
        assert kind.latest_s(multiple) == latest
        if earliest is not None:
            assert kind.earliest_s(multiple) == earliest
        assert kind.earliest_s(multiple) < latest


def test_a_tube_must_be_much_smaller_than_its_wire() -> None:
    """IEC 60364-4-43, 433.1: 2.1 In <= 1.45 Iz. So sized, a UL tube, which opens at 135 %, protects
    the wire as well."""
    wire = Given("Iz", 10.0, "A", "test")
    largest = most_a("feed", GLASS_QUICK, [], [wire]).value
    assert largest == pytest.approx(10 * 1.45 / 2.1)
    assert 1.35 * largest < 1.45 * wire.value
    assert most_a("feed", BLADE, [], [wire]).value == 10


def test_ratings_are_the_r10_series_of_iso_3() -> None:
    """From 125 mA, the least that these bounds are for, to 10 A; the series from memory."""
    series = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
    assert GLASS_QUICK.ratings_a[8:] == (0.8, *series, 10.0)
    assert GLASS_QUICK.ratings_a[0] == 0.125
