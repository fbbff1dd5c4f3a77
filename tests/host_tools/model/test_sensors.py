"""Sensors by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.plan import AnalogueSensor, DigitalSensor
from gen.resolve.sensors import share_per_65536
from host_tools.model.sensors import ContactState, VoltageState


def voltage(time_constant_ticks: int) -> VoltageState:
    share = share_per_65536(time_constant_ticks)
    return VoltageState(AnalogueSensor("level", "level", "A0", share, 5_000_000))


def contact(debounce_ticks: int, *, active_low: bool = False) -> ContactState:
    return ContactState(DigitalSensor("stop", "stop", "D7", active_low, debounce_ticks))


def read(sensor: VoltageState | ContactState, readings: list[int]) -> list[int]:
    values = []
    for sensor.reading in readings:
        sensor.feel()
        values.append(sensor.value)
    return values


@given(st.integers(1, 2000), st.integers(0, 1023), st.integers(0, 1023))
def test_a_jump_is_followed_to_63_percent_in_the_time_constant(
    ticks: int, before: int, after: int
) -> None:
    sensor = voltage(ticks)
    value = read(sensor, [before] + [after] * ticks)[-1]
    expected = after + (before - after) * math.exp(-1)
    # Half a count of rounding; a share to the nearest 1/65536 is 1.5 % off at its smallest, 33.
    assert value == pytest.approx(expected, abs=1 + 0.006 * abs(after - before))


@given(st.integers(0, 2000), st.integers(0, 1023), st.integers(0, 1023))
def test_what_stays_is_reached_exactly(ticks: int, before: int, after: int) -> None:
    assert read(voltage(ticks), [before] + [after] * (20 * ticks + 1))[-1] == after


def test_a_voltage_begins_where_it_is_first_read() -> None:
    assert read(voltage(100), [700, 700]) == [700, 700]


def test_no_filter_is_no_filter() -> None:
    assert read(voltage(0), [3, 1023, 0]) == [3, 1023, 0]


def test_a_contact_counts_once_it_has_been_still() -> None:
    assert read(contact(3), [0, 1, 1, 0, 1, 1, 1, 0, 0, 0, 1]) == [0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0]


def test_a_contact_of_one_tick_counts_at_once() -> None:
    assert read(contact(1), [1, 0, 1, 1, 0]) == [1, 0, 1, 1, 0]


def test_an_active_low_contact_is_closed_at_0_v() -> None:
    assert read(contact(1, active_low=True), [0, 1, 0]) == [1, 0, 1]


def test_before_it_was_read_nothing_is_felt() -> None:
    sensor = contact(1)
    assert not sensor.felt(0, 0)
    assert not sensor.felt(1, 1)
    assert not voltage(1).felt(0, 1023)
