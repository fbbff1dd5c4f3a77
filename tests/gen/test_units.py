"""Quantities, in decimal arithmetic."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen import units
from gen.plan import TICK_US


@pytest.mark.parametrize(
    ("text", "measure", "size"),
    [
        ("0.3 s", units.TIME, "300000"),
        ("250ms", units.TIME, "250000"),
        ("2 min", units.TIME, "120000000"),
        ("1500 us", units.TIME, "1500"),
        ("1500 \u00b5s", units.WIDTH, "1500"),
        ("1.5 ms", units.WIDTH, "1500"),
        ("0.8 A", units.CURRENT, "800"),
        ("5 mA", units.CURRENT, "5"),
        ("12 V", units.VOLTAGE, "12000"),
        ("7 Ah", units.CHARGE, "7000"),
        ("1300 mAh", units.CHARGE, "1300"),
        ("50 Hz", units.FREQUENCY, "50"),
        ("60 deg/s", units.TURN_SPEED, "60"),
        ("500 us/s", units.WIDTH_SPEED, "500"),
        ("88 %", units.PERCENT, "88"),
        ("88%", units.PERCENT, "88"),
        ("47k", units.RESISTANCE, "47000"),
        ("4.7 kohm", units.RESISTANCE, "4700"),
        ("470 ohm", units.RESISTANCE, "470"),
        ("470 \u2126", units.RESISTANCE, "470"),
        ("0.25 mm2", units.AREA, "0.25"),
        ("0.25 mm²", units.AREA, "0.25"),
        ("20 AWG", units.GAUGE, "20"),
        ("0.6 m", units.LENGTH, "600"),
        ("90 deg", units.ANGLE, "90"),
        ("3 pulses", units.PULSES, "3"),
        ("1 pulse", units.PULSES, "1"),
    ],
)
def test_every_quantity(text: str, measure: units.Measure, size: str) -> None:
    assert units.quantity(text, measure) == (Decimal(size), measure)


@pytest.mark.parametrize(
    ("text", "code", "hint"),
    [
        ("", "wrong-number", ""),
        ("s", "wrong-number", ""),
        ("-1 s", "wrong-number", ""),
        ("+1 s", "wrong-number", ""),
        ("1,5 s", "wrong-number", "write a decimal point: 1.5"),
        ("1e3 s", "wrong-unit", ""),
        ("1_000 s", "wrong-unit", ""),
        ("٣ s", "wrong-number", ""),
        ("8", "wrong-unit", "write for example 8 s"),
        ("8 kg", "wrong-unit", ""),
        ("8 sec", "wrong-unit", "write 8 s"),
        ("8 mA", "wrong-unit", ""),
        ("8 S", "wrong-unit", "write 8 s"),
        ("1.s", "wrong-unit", ""),
        ("nan s", "wrong-number", ""),
        ("inf s", "wrong-number", ""),
    ],
)
def test_what_is_no_time(text: str, code: str, hint: str) -> None:
    with pytest.raises(units.Wrong) as caught:
        units.quantity(text, units.TIME)
    assert (caught.value.code, caught.value.hint) == (code, hint)
    assert caught.value.expected == "a time such as 0.5 s"


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("900..1300 us", (1800, 2600)),
        ("900 us..1300 us", (1800, 2600)),
        ("900 .. 1300us", (1800, 2600)),
        ("0.9..1.3 ms", (1800, 2600)),
        ("900.5..1300 us", (1801, 2600)),
        ("1500..1500 us", (3000, 3000)),
    ],
)
def test_bands(text: str, band: tuple[int, int]) -> None:
    assert units.half_us_range(text) == band


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("900-1300 us", "wrong-range"),
        ("900 us", "wrong-range"),
        ("1300..900 us", "upside-down"),
        ("900..1300", "wrong-unit"),
        ("900..1300 s", "wrong-unit"),
        ("..1300 us", "wrong-number"),
        ("900.. us", "wrong-unit"),
        ("900..1300..1500 us", "wrong-unit"),
        ("900.3..1300 us", "wrong-grain"),
        ("900..40000 us", "out-of-range"),
    ],
)
def test_what_is_no_band(text: str, code: str) -> None:
    with pytest.raises(units.Wrong) as caught:
        units.half_us_range(text)
    assert caught.value.code == code


@given(st.integers(0, 0xFFFE))
def test_a_width_survives_being_written_down(half_us: int) -> None:
    assert units.half_us(f"{units.us_text(half_us)} us") == half_us


@given(st.decimals(min_value=0, max_value=10**9, allow_nan=False, places=3))
def test_ticks_are_never_more_than_half_a_tick_away(size_us: Decimal) -> None:
    assert abs(units.ticks(size_us) * TICK_US - size_us) * 2 <= TICK_US


def test_half_a_tick_goes_up() -> None:
    assert [units.ticks(Decimal(us)) for us in (7_499, 7_500, 12_500)] == [1, 2, 3]


def test_numbers_without_exponent() -> None:
    assert [units.decimal_text(Decimal(text)) for text in ("1E+3", "0.50", "5")] == [
        "1000",
        "0.5",
        "5",
    ]
