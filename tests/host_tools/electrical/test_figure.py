from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Figure, Given, shown


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (1.5, "A", "1.5 A"),
        (1.2345, "A", "1.23 A"),
        (0.9996, "A", "1 A"),
        (0.9994, "A", "999 mA"),
        (0.0125, "ohm", "12.5 mohm"),
        (4700.0, "ohm", "4.7 kohm"),
        (1e-7, "F", "100 nF"),
        (0.008, "m", "8 mm"),
        (0.25, "mm2", "0.25 mm2"),
        (28800.0, "s", "28800 s"),
        (12345.0, "s", "12300 s"),
        (2.675, "%", "2.68 %"),  # the decimal that was written, not the binary one below it
        (-0.5, "V", "-500 mV"),
        (0.0, "A", "0 A"),
        (3.0, "", "3"),
        (math.inf, "s", "∞ s"),
    ],
)
def test_numbers_are_rounded_in_one_place(value: float, unit: str, text: str) -> None:
    assert shown(value, unit) == text


@given(st.floats(1e-12, 1e9), st.sampled_from(["A", "ohm", "F", "s", "mm2", "W", ""]))
def test_what_is_shown_is_within_half_of_the_third_figure(value: float, unit: str) -> None:
    number, _, written = shown(value, unit).partition(" ")
    prefix = written.removesuffix(unit)
    power = {"": 0, "M": 6, "k": 3, "m": -3, "u": -6, "n": -9, "p": -12}[prefix]
    assert float(number) * 10**power == pytest.approx(value, rel=0.0050001)


def test_what_is_no_number_is_never_shown() -> None:
    with pytest.raises(ValueError, match="cannot be shown"):
        shown(math.nan, "A")


def test_a_given_is_shown_as_it_was_written() -> None:
    full = Given("full battery", 14.35, "V", "skerry.yaml:40")
    assert full.shown() == "14.35 V"
    twice = Figure("battery", "twice", 28.6999, "V", "2 * U", (full,), "no source")
    assert twice.shown() == "28.7 V"
    assert (full.label, twice.label) == ("full battery", "battery: twice")


def test_a_sum_refuses_another_unit() -> None:
    draws = Given("draws", 800.0, "mA", "skerry.yaml:31")
    assert draws.in_unit("mA") == 800
    with pytest.raises(ValueError, match="needs A, not mA"):
        draws.in_unit("A")
