from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given, Refused
from host_tools.electrical.resistors import (
    DERATING,
    E12,
    E24,
    Leds,
    divider,
    leds,
    proposed_divider,
    rating_w,
    rounded_up,
    switch,
)


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "test")


def string(highest: float, nominal: float, each: float, row: int, amperes: float) -> Leds | Refused:
    return leds(
        "mast light",
        highest_v=number(highest, "V"),
        nominal_v=number(nominal, "V"),
        each_v=number(each, "V"),
        in_a_row=number(row, ""),
        current_a=number(amperes, "A"),
    )


@given(st.floats(1e-3, 1e9), st.sampled_from([E12, E24]))
def test_rounding_never_lowers_the_value_and_is_a_step_at_most(
    ohm: float, series: tuple[int, ...]
) -> None:
    value = rounded_up(ohm, series)
    assert value >= ohm * (1 - 1.1e-6)
    assert value <= ohm * 1.26
    assert rounded_up(value, series) == value


@given(st.floats(0.01, 0.5), st.floats(1.5, 4), st.integers(1, 5), st.floats(5, 30))
def test_no_led_ever_gets_more_than_its_current(
    amperes: float, each: float, row: int, highest: float
) -> None:
    found = string(highest, 0.85 * highest, each, row, amperes)
    if isinstance(found, Refused):
        assert 0.85 * highest <= each * row * (1 + 1e-12)
        return
    assert 0 < found.nominal.value <= found.most.value <= amperes * (1 + 2e-6)
    assert found.resistor.rating.value >= DERATING.value * found.resistor.power.value * (1 - 1e-6)


def test_three_in_a_row_on_a_battery_that_is_just_charged() -> None:
    """14.4 V - 3 * 3.2 V = 4.8 V at 20 mA: 240 ohm, so 270 ohm: 17.8 mA, and 8.9 mA at 12 V."""
    found = string(14.4, 12.0, 3.2, 3, 0.020)
    assert isinstance(found, Leds)
    assert found.resistor.value.value == 270
    assert found.most.value == pytest.approx(0.01778, abs=1e-5)
    assert found.nominal.value == pytest.approx(0.00889, abs=1e-5)
    assert found.resistor.rating.value == 0.25
    assert found.steady


def test_too_many_in_a_row() -> None:
    tight = string(14.4, 12.0, 2.2, 5, 0.020)
    assert isinstance(tight, Leds)
    assert not tight.steady
    found = string(14.4, 12.0, 3.2, 4, 0.020)
    assert isinstance(found, Refused)
    assert found.why == "4 in a row need 12.8 V: more than the supply has"


def test_a_small_load_on_a_bipolar_transistor() -> None:
    """0.1 A needs 10 mA of base: (5 - 0.8) V / 10 mA = 420 ohm, so 430 ohm."""
    found = switch("horn", number(0.1, "A"), pin_v=number(5, "V"), pin_a=number(0.02, "A"))
    assert found.bipolar
    assert (found.resistor.value.value, found.resistor.rating.value) == (430, 0.125)
    assert found.pull_down is None


def test_a_larger_load_takes_a_field_effect_transistor() -> None:
    """2 A would need 200 mA of base, ten times what a pin guarantees: 5 V / 20 mA = 250, so 270."""
    found = switch("pump", number(2.0, "A"), pin_v=number(5, "V"), pin_a=number(0.02, "A"))
    assert not found.bipolar
    assert found.resistor.value.value == 270
    assert found.pull_down is not None
    assert found.pull_down.value == 10_000


@given(st.floats(0.001, 0.2))
def test_a_pin_never_gives_more_than_its_level_is_guaranteed_at(load: float) -> None:
    found = switch("horn", number(load, "A"), pin_v=number(5, "V"), pin_a=number(0.02, "A"))
    assert (5 - 0.8) / found.resistor.value.value <= 0.02 * (1 + 1e-5)
    assert load / ((5 - 0.8) / found.resistor.value.value) < 11.55  # a step of E24 is 15 % at most


def test_a_battery_sense() -> None:
    """47k over 10k: 14.4 V becomes 2.53 V, and draws 0.25 mA."""
    found = divider("battery", number(47e3, "ohm"), number(10e3, "ohm"), number(14.4, "V"))
    assert found.at_pin.value == pytest.approx(2.526, abs=0.001)
    assert found.draws.value == pytest.approx(0.000253, abs=1e-6)


@given(st.floats(3, 60), st.sampled_from([1.1, 5.0]))
def test_what_is_proposed_keeps_a_full_battery_in_range(highest: float, range_v: float) -> None:
    found = proposed_divider(
        "battery", number(10e3, "ohm"), number(highest, "V"), number(range_v, "V")
    )
    upper = found.upper.value
    assert highest * 10.5 / (10.5 + upper * 0.95 / 1000) <= range_v * (1 + 1e-5) or upper == 0
    if upper == 0:
        assert highest <= range_v


def test_a_power_above_every_rating_is_told_as_it_is() -> None:
    assert rating_w(20.0) == 40.0
