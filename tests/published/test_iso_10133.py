"""Voltage drop in small craft: ISO 10133 (extra-low-voltage d.c. installations), annex:
E = 0.0164 * I * L / S, with L there and back in m, S in mm2.

Its 0.0164 is 4.9 % below copper's 1/58 (IEC 60028): the standard's formula understates the drop,
and that of a real flexible wire by 15 to 18 %. The sums here must lie above it by just that.
Allowed: 3 % for navigation lights, blowers and bilge pumps, 10 % elsewhere (the 10 % from
memory).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given
from host_tools.electrical.wire import drop, resistance, share, solid_ohm_per_m

AT_20_C = Given("t", 20.0, "C", "ISO 10133")


def iso_drop_v(current_a: float, there_and_back_m: float, mm2: float) -> float:
    """The standard's own formula."""
    return 0.0164 * current_a * there_and_back_m / mm2


def our_drop_v(current_a: float, one_way_m: float, mm2: float) -> float:
    size, length = Given("S", mm2, "mm2", "test"), Given("L", one_way_m, "m", "test")
    one_way = resistance("feed", size, length, AT_20_C)
    return drop("feed", Given("I", current_a, "A", "test"), one_way).value


def test_the_standards_constant_is_4_9_percent_below_copper() -> None:
    assert solid_ohm_per_m(1.0) / 0.0164 == pytest.approx(1.0513, abs=0.0001)
    assert 1 - 0.0164 / solid_ohm_per_m(1.0) == pytest.approx(0.0488, abs=0.0001)


@pytest.mark.parametrize(
    ("mm2", "above"), [(0.5, 1.189), (1.0, 1.189), (1.5, 1.2165), (2.5, 1.2165)]
)
def test_a_real_wire_drops_more_than_the_formula_says(mm2: float, above: float) -> None:
    assert our_drop_v(5, 3, mm2) / iso_drop_v(5, 6, mm2) == pytest.approx(above, abs=0.001)


@given(st.floats(0.01, 30), st.floats(0.05, 10), st.floats(0.1, 16))
def test_no_drop_is_ever_understated(current_a: float, one_way_m: float, mm2: float) -> None:
    assert our_drop_v(current_a, one_way_m, mm2) > 1.05 * iso_drop_v(current_a, 2 * one_way_m, mm2)


def test_a_share_cites_what_is_allowed() -> None:
    lost = Given("drop", 0.36, "V", "test")
    part = share("mast light", lost, Given("supply", 12.0, "V", "test"))
    assert part.value == pytest.approx(3.0)
    assert "3 % for navigation lights" in part.source
