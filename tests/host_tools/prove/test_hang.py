"""What is said of a hang is said of the sketch that was measured, and of no other."""

from __future__ import annotations

import dataclasses

import pytest

from gen.boards import board_names, load_board
from gen.load import load
from gen.render import render
from host_tools.cli.ships import starters
from host_tools.prove.hang import MEASURED_MS, amiss, hang_outcomes
from host_tools.prove.obligations import PROVED, UNDECIDED

PLAN = load(starters()["launch"]).plan
BOARD = load_board(PLAN.board)
SKETCH = dict(render(PLAN, BOARD))


@pytest.mark.parametrize("name", list(starters()))
def test_it_is_proved_of_every_starter(name: str) -> None:
    plan = load(starters()[name]).plan
    (told,) = hang_outcomes(plan, load_board(plan.board))
    assert told.verdict == PROVED
    assert "in the simulated chip" in told.how
    assert ("shift register" in told.text) == any(not one.blank for one in plan.registers)


@pytest.mark.parametrize("board", board_names())
def test_no_watchdog_is_later_than_it_is_told(board: str) -> None:
    dog = load_board(board).watchdog
    assert dog.cycles * 1000 / dog.usual_hz == MEASURED_MS < dog.latest_ms


def test_a_board_that_nobody_measured_is_undecided() -> None:
    (told,) = hang_outcomes(PLAN, dataclasses.replace(BOARD, name="another"))
    assert told.verdict == UNDECIDED


@pytest.mark.parametrize(
    ("file", "old", "new", "why"),
    [
        ("src/board/board.cpp", "  wdt_enable(WDTO_120MS);\n", "", "set the watchdog"),
        ("src/board/board.cpp", "WDTO_120MS", "WDTO_2S", "set the watchdog"),
        ("src/board/board.cpp", "  mark::sampled();", "  wdt_reset();", "elsewhere"),
        ("src/board/board.cpp", "  mark::sampled();", "  wdt_disable();", "off elsewhere"),
        ("src/board/board.cpp", "  wdt_reset();", "", "at the end of a tick"),
        ("src/board/early.cpp", ".init3", ".init7", "safe first of all"),
        ("src/board/early.cpp", "wiring::make_outputs_safe();", "", "safe first of all"),
    ],
)
def test_a_sketch_that_does_otherwise_is_told(file: str, old: str, new: str, why: str) -> None:
    assert amiss(SKETCH) == ""
    assert old in SKETCH[file]
    assert why in amiss(SKETCH | {file: SKETCH[file].replace(old, new)})
