"""Sensors by hand."""

from __future__ import annotations

import dataclasses
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.behaviours import Auto, Loss, Momentary, Toggle
from gen.plan import AnalogueSensor, DigitalSensor, Felt, Gate, Plan, Stage
from gen.resolve.sensors import share_per_65536
from host_tools.model.sensors import ContactState, VoltageState
from tests.host_tools.bench_ship import CENTRE, FLOAT, KEY_UP, LEVEL, UP, plan_with, spans, worked


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


def shedding() -> Plan:
    """A lamp on line 2 that a low battery does without."""
    gate = Gate(stage=0)
    lamp = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=2, gate=gate)
    stage = Stage(Felt(LEVEL, 0, 399), 50, Felt(LEVEL, 500, 1023), 100)
    return dataclasses.replace(plan_with(lamp), stages=(stage,))


SHEDS = shedding()
REST, PRESS = (100, [CENTRE]), (40, [UP])


def test_a_low_battery_takes_a_lamp_away_after_its_time() -> None:
    felt = [(0, LEVEL, 600), (200, LEVEL, 399), (249, LEVEL, 400), (300, LEVEL, 399)]
    record = worked(SHEDS, REST, PRESS, (860, [CENTRE]), felt=felt)
    assert spans(record, 2) == [(104, 350 - 104)]


def test_it_comes_back_when_the_battery_has_been_good_for_a_time_and_is_pressed_again() -> None:
    felt = [(0, LEVEL, 600), (200, LEVEL, 0), (400, LEVEL, 500)]  # low at 250, good at 500
    moves = [REST, PRESS, (260, [CENTRE]), PRESS, (160, [CENTRE]), PRESS, (100, [CENTRE])]
    record = worked(SHEDS, *moves, felt=felt)
    assert spans(record, 2) == [(104, 146), (604, 136)]


def test_a_key_that_is_held_while_the_battery_recovers_starts_nothing() -> None:
    horn = Momentary(
        name="horn", code="horn", on_loss=Loss.OFF, ask=KEY_UP, drives=2, gate=Gate(stage=0)
    )
    plan = dataclasses.replace(SHEDS, functions=(horn,))
    felt = [(0, LEVEL, 600), (200, LEVEL, 0), (400, LEVEL, 500)]
    record = worked(plan, REST, (600, [UP]), (40, [CENTRE]), (60, [UP]), felt=felt)
    assert spans(record, 2) == [(104, 146), (744, 56)]


def test_what_no_hand_works_comes_back_by_itself() -> None:
    fan = Auto(
        name="fan",
        code="fan",
        on_loss=Loss.KEEP,
        when=Felt(FLOAT, 0, 0),
        wait_ticks=0,
        run_on_ticks=0,
        longest_ticks=0,
        by_hand=None,
        stop=None,
        drives=2,
        gate=Gate(stage=0),
    )
    plan = dataclasses.replace(SHEDS, functions=(fan,))
    felt = [(0, FLOAT, 1), (0, LEVEL, 600), (200, LEVEL, 0), (400, LEVEL, 500)]
    assert spans(worked(plan, (600, [CENTRE]), felt=felt), 2) == [(0, 250), (500, 100)]
