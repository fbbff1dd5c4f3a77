"""The recorder on each board: it tells what comes on its pins, and drives none."""

from __future__ import annotations

import numpy as np
import pytest

from gen.boards import Board, board_names, load_board
from gen.recorder import INPUTS_MOST, recorder
from gen.render import render
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import TOLERANCE_HALF_US
from tests.firmware.link_lines import tallies_of, ticks_of, words_of
from tests.thumb_frames import FRAME_TICKS

pytestmark = pytest.mark.firmware

CYCLES_A_TICK = 80_000
CYCLES_A_HALF_US = 8
FRAMES = 100
CHANNELS = 7


@pytest.mark.parametrize("name", board_names())
def test_it_tells_every_pulse_and_drives_nothing(name: str) -> None:
    board = load_board(name)
    plan = recorder(board)
    with FirmwareRung.of_sketch(plan, board, render(plan, board)) as rung:
        begin = rung.first_tick + CYCLES_A_TICK
        given = [
            (index, 2000 + 200 * index + frame)
            for frame in range(FRAMES)
            for index in range(CHANNELS)
        ]
        events = np.zeros(2 * len(given), EVENT)
        at = begin
        for number, (index, width) in enumerate(given):
            if number % CHANNELS == 0:
                at = begin + number // CHANNELS * FRAME_TICKS * CYCLES_A_TICK
            end = at + width * CYCLES_A_HALF_US
            events[2 * number] = (at, index, 1, 0, b"")
            events[2 * number + 1] = (end, index, 0, 0, b"")
            at = end
        run = rung.run_events(events, (FRAMES + 4) * FRAME_TICKS)
    words = words_of(run.said)
    told = [pulse for one in ticks_of(words) for pulse in one.pulses]
    assert [index for index, _ in told] == [index for index, _ in given]
    errors = [seen - width for (_, seen), (_, width) in zip(told, given, strict=True)]
    assert max(abs(error) for error in errors) <= TOLERANCE_HALF_US
    assert tallies_of(words)[-1]["dropped"] == 0
    who = [one for one in words if one.startswith("who ")]
    assert who[:2] == [f"who plan {plan.plan_id}", f"who board {name}"]
    pins = [f"who input {chr(97 + i)} {one.pin}" for i, one in enumerate(plan.inputs)]
    assert [one for one in who if one.startswith("who input")] == pins


def test_no_pin_is_an_output() -> None:
    """By the registers that its sketch writes: levels, for pull-ups, and no direction."""
    board = load_board("nano")
    wiring = render(recorder(board), board)["src/board/wiring.h"]
    directions = [line.split("//")[0].split() for line in wiring.splitlines() if "DDR" in line]
    assert len(directions) == 3
    assert {words[-1] for words in directions} == {"0b00000000;"}


def listens(board: Board) -> list[str]:
    return [
        pin.name for pin in board.pins.values() if pin.change_group is not None and not pin.reserved
    ]


@pytest.mark.parametrize("name", board_names())
def test_it_listens_on_every_pin_that_can(name: str) -> None:
    board = load_board(name)
    pins = [one.pin for one in recorder(board).inputs]
    assert set(pins) <= set(listens(board))
    assert len(pins) == min(INPUTS_MOST, len(listens(board)))
