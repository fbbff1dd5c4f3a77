"""Pulses laid out in time, and compared with what was seen. No chip is needed for these."""

from __future__ import annotations

from typing import Any

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from host_tools.firmware.pulses import (
    CYCLES_A_HALF_US,
    CYCLES_A_TICK,
    GAP_CYCLES,
    Driven,
    Misread,
    as_seen,
    first_misread,
    lay_out,
)
from host_tools.trace import Trace

FIRST_TICK = 90_000
PULSES_MOST = 6
REPORT = np.dtype(
    [("count", "u1"), ("pulses", [("input", "u1"), ("width", "<u2")], (PULSES_MOST,))]
)


@st.composite
def traces(draw: st.DrawFn, most_width: int = 65_535) -> Trace:
    """Up to three channels and forty ticks; several pulses in a tick now and then."""
    channels = draw(st.integers(1, 3))
    rows = draw(st.lists(st.integers(0, 39), max_size=30).map(sorted))
    width = st.one_of(st.just(0), st.integers(1, most_width), st.integers(1_000, 4_600))
    widths = draw(
        st.lists(
            st.lists(width, min_size=channels, max_size=channels),
            min_size=len(rows),
            max_size=len(rows),
        )
    )
    names = tuple(f"channel {i}" for i in range(channels))
    table = np.array(widths, np.uint16).reshape(len(rows), channels)
    return Trace(40, names, np.array(rows, np.int64), table)


@given(traces())
def test_every_pulse_is_laid_out_once_in_order_and_apart(trace: Trace) -> None:
    driven = lay_out(trace, FIRST_TICK)
    for channel in range(len(trace.channels)):
        mine = driven.input == channel
        given_widths = trace.widths_half_us[:, channel]
        widths, ends = driven.width_half_us[mine], driven.end[mine]
        assert widths.tolist() == given_widths[given_widths > 0].tolist()
        begins = ends - widths * CYCLES_A_HALF_US
        assert np.all(begins[1:] - ends[:-1] >= GAP_CYCLES)
        assert np.all(begins >= FIRST_TICK - CYCLES_A_TICK)


@given(traces())
def test_edges_come_in_the_order_of_time(trace: Trace) -> None:
    events = lay_out(trace, FIRST_TICK).events()
    assert np.all(np.diff(events["cycle"].astype(np.int64)) >= 0)
    for channel in range(len(trace.channels)):
        levels = events["level"][events["input"] == channel]
        assert levels.tolist() == [1, 0] * (len(levels) // 2)


def test_pulses_of_a_receiver_end_in_their_own_ticks() -> None:
    """A frame every 20 ms, 16 channels, all at their longest."""
    at = np.arange(0, 400, 4)
    names = tuple(f"channel {i}" for i in range(16))
    trace = Trace(400, names, at, np.full((100, 16), 4_600, np.uint16))
    driven = lay_out(trace, FIRST_TICK)
    tick = np.ceil((driven.end - FIRST_TICK) / CYCLES_A_TICK).astype(int)
    assert tick.reshape(16, 100).tolist() == [at.tolist()] * 16


def reports_of(trace: Trace) -> np.ndarray[Any, np.dtype[np.void]]:
    """What a faultless board would report."""
    reports = np.zeros(trace.ticks, REPORT)
    for row, tick in enumerate(trace.at):
        for channel, width in enumerate(trace.widths_half_us[row]):
            report = reports[tick]
            if width and report["count"] < PULSES_MOST:
                report["pulses"][report["count"]] = (channel, width)
                report["count"] += 1
    return reports


@given(traces())
def test_what_was_seen_is_told_pulse_by_pulse(trace: Trace) -> None:
    reports = reports_of(trace)
    seen = as_seen(reports, trace)
    again = reports_of(seen)
    for tick in range(trace.ticks):
        for channel in range(len(trace.channels)):
            told = [
                [int(w) for c, w in one["pulses"][: one["count"]] if c == channel]
                for one in (reports[tick], again[tick])
            ]
            assert told[0] == told[1]


STEADY = Trace(
    40,
    ("rudder",),
    np.arange(0, 40, 4),
    np.array([[2_000 + 40 * i] for i in range(10)], np.uint16),
)
SAMPLED = FIRST_TICK + np.arange(40) * CYCLES_A_TICK


def steady() -> tuple[Driven, np.ndarray[Any, np.dtype[np.void]]]:
    return lay_out(STEADY, FIRST_TICK), reports_of(STEADY)


def test_a_faultless_board_is_believed() -> None:
    driven, reports = steady()
    assert first_misread(driven, reports, SAMPLED) is None
    reports["pulses"]["width"][:, 0] += reports["count"] * 9
    assert first_misread(driven, reports, SAMPLED) is None


def test_a_pulse_measured_wrongly_is_found() -> None:
    driven, reports = steady()
    reports["pulses"]["width"][8, 0] += 10
    assert first_misread(driven, reports, SAMPLED) == Misread(
        8, "input 0: pulse 2 was 1040 us, the chip saw 1045 us"
    )


def test_a_missing_pulse_is_found() -> None:
    driven, reports = steady()
    reports["count"][8] = 0
    assert first_misread(driven, reports, SAMPLED) == Misread(
        8, "input 0: pulse 2 was 1040 us, the chip saw 1060 us"
    )


def test_a_pulse_told_in_the_wrong_tick_is_found() -> None:
    driven, reports = steady()
    reports[10] = reports[8]
    reports["count"][8] = 0
    assert first_misread(driven, reports, SAMPLED) == Misread(
        8, "input 0: pulse 2 was 1040 us, the chip saw 1040 us"
    )


def test_an_invented_pulse_is_found() -> None:
    driven, reports = steady()
    reports["count"][39] = 1
    reports["pulses"][39, 0] = (0, 3_000)
    assert first_misread(driven, reports, SAMPLED) == Misread(
        39, "input 0: the chip saw 11 pulses, more than the 10 that it was given"
    )


def test_a_pulse_that_found_no_room_is_excused() -> None:
    driven, reports = steady()
    reports["pulses"]["input"][8] = 1  # another channel has taken all the room
    reports["count"][8] = PULSES_MOST
    assert first_misread(driven, reports, SAMPLED) == Misread(
        8, "input 1: the chip saw 6 pulses, more than the 0 that it was given"
    )


def test_a_pulse_too_short_for_the_chip_may_be_missing() -> None:
    widths = np.array([[3_000], [19], [3_000]], np.uint16)
    short = Trace(40, ("rudder",), np.array([4, 8, 12]), widths)
    driven, reports = lay_out(short, FIRST_TICK), reports_of(short)
    assert first_misread(driven, reports, SAMPLED) is None
    reports["count"][8] = 0
    assert first_misread(driven, reports, SAMPLED) is None
    reports["count"][12] = 0
    assert first_misread(driven, reports, SAMPLED) == Misread(
        12, "input 0: pulse 2 was 1500 us, the chip saw nothing"
    )
