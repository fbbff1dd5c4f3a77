from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given
from host_tools.electrical.regulators import SWITCHING, heat_w, linear_efficiency, taken_a


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "test")


def test_a_linear_one_from_12_to_5_v() -> None:
    """41.7 %, takes what it gives, and burns 7 V times that."""
    supply, out, gives = number(12, "V"), number(5, "V"), number(0.5, "A")
    passes = linear_efficiency("5 V", supply, out)
    assert passes.value == pytest.approx(41.7, abs=0.05)
    taken = taken_a("5 V", gives, in_v=supply, out_v=out, efficiency=passes)
    assert taken.value == pytest.approx(0.5)
    assert heat_w("5 V", gives, out_v=out, efficiency=passes).value == pytest.approx(3.5)


def test_a_switching_one() -> None:
    """5 A at 6 V and 88 % are 34.1 W, which are 2.84 A from 12 V; 4.09 W stay in it."""
    gives, out, passes = number(5, "A"), number(6, "V"), number(88, "%")
    taken = taken_a("6 V", gives, in_v=number(12, "V"), out_v=out, efficiency=passes)
    assert taken.value == pytest.approx(2.841, abs=0.001)
    assert heat_w("6 V", gives, out_v=out, efficiency=passes).value == pytest.approx(4.09, abs=0.01)


@given(st.floats(0, 20), st.floats(1, 24), st.floats(1, 24), st.floats(50, 100))
def test_no_power_is_lost_or_won(gives: float, in_v: float, out_v: float, percent: float) -> None:
    passes, current, out = number(percent, "%"), number(gives, "A"), number(out_v, "V")
    taken = taken_a("one", current, in_v=number(in_v, "V"), out_v=out, efficiency=passes).value
    burnt = heat_w("one", current, out_v=out, efficiency=passes).value
    assert taken * in_v == pytest.approx(gives * out_v + burnt)


def test_unless_told_it_is_taken_at_the_low_end() -> None:
    assert SWITCHING.value == 85
