"""Shared channels and sum signals by hand, pulse by pulse. All ships here are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.load import load_text
from host_tools.model import Model
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.record import Record

SHARED = """\
ship: Dunlin
board: nano
receiver:
  channels:
    box: {pin: D2, shares: 3 slots, marker: below 950 us%s}
controls:
  key: {from: box, slot: 1}
  horn key: {from: box, slot: 2}
  knob: {from: box, slot: 3, kind: knob}
outputs:
  lamp relay: D5
  horn relay: D6
  servo: {pin: D9, kind: servo}
functions:
  horn: {momentary: horn key up, drives: horn relay}
  lamp: {toggle: key up, drives: lamp relay, on loss: keep}
  arm: {follow: knob, drives: servo, on loss: keep}
"""

FRAME = 4
M, DOWN, REST, UP = 900, 1000, 1500, 1900
HORN, LAMP = 0, 1
IDLE = (M, REST, REST, 1500)


def shared(more: str = "") -> Plan:
    return load_text((SHARED % more).encode(), "dunlin.yaml").plan


def played(plan: Plan, widths_us: Sequence[int], after: int = 4) -> Record:
    """One width a frame, in every fourth tick from tick 0; 0 is a frame without a pulse."""
    at = np.arange(len(widths_us)) * FRAME
    column = np.array(widths_us, np.uint16)[:, None] * np.uint16(2)
    spoke = column[:, 0] > 0
    trace = Trace(
        len(widths_us) * FRAME + after, ("box",), at[spoke].astype(np.int64), column[spoke]
    )
    whole, thin = Model(plan).run(trace), Model(plan).run(trace, digests=False)
    assert np.array_equal(whole.lines, thin.lines)
    assert np.array_equal(whole.servos_half_us, thin.servos_half_us)
    return whole


def when(record: Record, line: int) -> list[int]:
    """The frames in which a line changes."""
    on = (record.lines >> np.uint64(line) & np.uint64(1)).astype(int)
    ticks = np.flatnonzero(np.diff(on, prepend=0))
    assert np.all(ticks % FRAME == 0)
    return (ticks // FRAME).tolist()


def test_two_cycles_that_agree_make_a_press_and_one_lets_go() -> None:
    pressed = (M, REST, UP, 1500)
    record = played(shared(), [*IDLE * 3, *pressed * 3, *IDLE * 3, M])
    # A cycle is complete at the marker behind it.
    assert when(record, HORN) == [12 + 8, 12 + 12 + 4]


def test_one_cycle_alone_is_not_believed() -> None:
    assert when(played(shared(), [*IDLE * 3, M, UP, UP, 2000, *IDLE * 3, M]), LAMP) == []


@pytest.mark.parametrize(
    "fault",
    [(M, UP, REST), (M, REST, REST, UP, 1500), (M, UP, UP, REST, REST, 1500), (M, UP)],
    ids=["dropped", "repeated", "twice", "mostly dropped"],
)
def test_a_cycle_with_another_count_says_nothing(fault: tuple[int, ...]) -> None:
    """However often it comes, as long as good ones come between."""
    record = played(shared(), [*IDLE * 3, *(fault + IDLE) * 20, M])
    assert when(record, LAMP) == []
    assert when(record, HORN) == []


def test_a_dropped_cycle_is_no_reason_to_let_go() -> None:
    pressed = (M, REST, UP, 1500)
    row = [*IDLE * 3, *pressed * 3, M, REST, 1500, *pressed, *IDLE * 2, M]
    assert when(played(shared(), row), HORN) == [20, 12 + 12 + 3 + 4 + 4]


def test_a_repeated_marker_is_the_same_marker() -> None:
    pressed = (M, M, M, REST, UP, 1500)
    assert when(played(shared(), [*IDLE * 3, *pressed * 2, M]), HORN) == [12 + 12]


def test_slots_may_last_several_frames() -> None:
    def twice(cycle: tuple[int, ...]) -> list[int]:
        return [width for width in cycle for _ in range(2)]

    plan = shared(", frames per slot: 2")
    pressed = (M, REST, UP, 1500)
    record = played(plan, [*twice(IDLE * 3), *twice(pressed * 3), M])
    assert when(record, HORN) == [24 + 16]
    short = twice(pressed)
    del short[4]
    assert when(played(plan, [*twice(IDLE * 3), *short * 3, M]), HORN) == []


def test_a_receiver_that_freezes_is_lost() -> None:
    pressed = (M, REST, UP, 1500)
    record = played(shared(), [*IDLE * 3, *pressed * 2, M, REST, *[UP] * 100])
    on, off = when(record, HORN)
    # Two more pulses might still have been the second and third slot; then 300 ms, 60 ticks.
    assert (on, off) == (20, 20 + 3 + 60 // FRAME)


def test_cycles_that_are_all_bad_are_a_lost_signal() -> None:
    pressed = (M, REST, UP, 1500)
    record = played(shared(), [*IDLE * 3, *pressed * 2, *(M, REST, UP) * 60])
    on, off = when(record, HORN)
    assert on == 20
    # The good cycle's marker and six short cycles of three; the last one's slots keep it alive.
    assert off == 20 + 6 * 3 - 1 + 60 // FRAME


def test_a_knobs_value_moves_as_far_as_two_cycles_agree() -> None:
    def at(width: int) -> tuple[int, ...]:
        return (M, REST, REST, width)

    record = played(shared(), [*at(1500) * 3, *at(2000), *at(1500) * 2, *at(1800), *at(1900), M])
    seen = sorted(set((record.servos_half_us[:, 0] // 2).tolist()))
    assert seen == [1500, 1800]


SUM = """\
ship: Sanderling
board: nano
receiver:
  sum signal: {pin: D8, channels: [unused, key, unused], gap: 2700 us}
controls:
  key: {from: key}
outputs:
  relay: D5
functions:
  horn: {momentary: key up, drives: relay}
"""
GAP = 16_000


def frames(widths_us: Sequence[int]) -> Record:
    """Edge to edge, each in a tick of its own."""
    plan = load_text(SUM.encode(), "sanderling.yaml").plan
    column = np.array(widths_us, np.uint16)[:, None] * np.uint16(2)
    trace = Trace(len(widths_us), ("sum signal",), np.arange(len(widths_us)), column)
    whole, thin = Model(plan).run(trace), Model(plan).run(trace, digests=False)
    assert np.array_equal(whole.lines, thin.lines)
    return whole


OPEN = (1500, 1500, 1500, GAP)
PRESSED = (1500, 1900, 1500, GAP)


def test_a_frame_is_heard_when_its_gap_has_come() -> None:
    lines = frames([*OPEN * 2, *PRESSED * 3]).lines
    assert np.flatnonzero(lines).tolist() == list(range(8 + 7, 20))


@pytest.mark.parametrize(
    "slipped",
    [
        (1900, 1500, GAP),
        (1900, 1900, 1500, 1500, GAP),
        (1500, 1900, 3500, GAP),
        (1500, 1900, 500, GAP),
        (1500, 1900, 2301 * 1, GAP),
    ],
    ids=["one lost", "one more", "two in one", "too short", "too long"],
)
def test_a_frame_that_cannot_be_right_is_dropped_whole(slipped: tuple[int, ...]) -> None:
    assert not frames([*OPEN * 2, *slipped * 9]).lines.any()
