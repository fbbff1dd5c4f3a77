"""Preferred values: IEC 60063, series E12 and E24, against the reference package iec60063.

Worked examples of LED resistors: 12 V, 2 V, 20 mA: 500 ohm, so 510 of E24 or 560 of E12, and 0.2
W, for which 0.5 W is taken; 5 V, 2 V, 20 mA: 150 ohm just so, 60 mW; 12 V, 3.2 V, 20 mA: 440
ohm, so 470. Traps: a table on the web has 4.2 in place of 4.3 in E24; and a calculator
multiplies the rounded resistor by the square of the current that was wished for (188 mW), where
18.7 mA flow (165 mW).
"""

from __future__ import annotations

from decimal import Decimal

import iec60063
import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given
from host_tools.electrical.resistors import E12, E24, Leds, bought, leds, rating_w, rounded_up


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "test")


@pytest.mark.parametrize(("ours", "reference"), [(E12, iec60063.E12), (E24, iec60063.E24)])
def test_the_series_are_those_of_the_reference_package(
    ours: tuple[int, ...], reference: tuple[Decimal, ...]
) -> None:
    assert [Decimal(value) / 10 for value in ours] == list(reference)


def test_43_is_one_of_them_and_42_is_not() -> None:
    assert 43 in E24
    assert 42 not in E24


@given(st.integers(1, 10**9).map(lambda size: Decimal(size) / 1000), st.sampled_from([12, 24]))
def test_rounding_up_is_that_of_the_reference_package(ohm: Decimal, steps: int) -> None:
    reference = {12: iec60063.E12, 24: iec60063.E24}[steps]
    every = [value.scaleb(decade) for decade in range(-4, 8) for value in reference]
    found = rounded_up(float(ohm), {12: E12, 24: E24}[steps])
    assert found == float(min(value for value in every if value >= ohm * (1 - Decimal("1e-6"))))


def string(supply_v: float, each_v: float, series_ohm: float) -> Leds:
    found = leds(
        "lamp",
        highest_v=number(supply_v, "V"),
        nominal_v=number(supply_v, "V"),
        each_v=number(each_v, "V"),
        in_a_row=number(1, ""),
        current_a=number(0.020, "A"),
    )
    assert isinstance(found, Leds)
    assert found.resistor.value.value == series_ohm
    return found


def test_12_v_2_v_20_ma() -> None:
    found = string(12, 2, 560)
    exact, across = found.resistor.exact, number(10, "V")
    assert exact.value == pytest.approx(500)
    of_24 = bought("lamp", exact, across, E24)
    assert of_24.value.value == 510
    assert of_24.power.value == pytest.approx(0.2, rel=0.02)
    assert (of_24.rating.value, found.resistor.rating.value) == (0.5, 0.5)


def test_5_v_2_v_20_ma_is_met_just_so() -> None:
    found = string(5, 2, 150)
    assert found.resistor.power.value == pytest.approx(0.060)
    assert found.most.value == pytest.approx(0.020)


def test_12_v_3_2_v_20_ma_with_the_current_that_really_flows() -> None:
    found = string(12, 3.2, 470)
    assert found.most.value == pytest.approx(0.0187, abs=5e-5)
    assert found.resistor.power.value == pytest.approx(0.1648, abs=5e-5)
    assert 470 * 0.020**2 == pytest.approx(0.188)


def test_a_resistor_is_used_at_half_its_rating() -> None:
    assert [rating_w(power) for power in (0.0624, 0.0625, 0.0626, 0.2, 0.26)] == [
        0.125,
        0.125,
        0.25,
        0.5,
        1.0,
    ]
