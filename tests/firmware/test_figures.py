"""The goals that the benchmark measures at length, kept in a short run."""

from __future__ import annotations

import pytest

from gen.boards import load_board
from tests.benchmarks.firmware_figures import pulse_in_figures, ship_figures
from tests.benchmarks.yardstick import yardstick

pytestmark = pytest.mark.firmware


@pytest.mark.parametrize("board", ["nano", "mega", "micro"])
def test_goals_are_kept(board: str) -> None:
    """With every servo that the board can have, edges one by one, together, and nearly together."""
    rows = ship_figures(yardstick(board), load_board(board), frames=120)
    assert [row for row in rows if not row.met] == []
    values = {row.what: row.value for row in rows}
    assert values["pulse error, near: max"] > values["pulse error, stagger: max"] > 0.2
    assert values["software servo jitter"] > 0
    assert 0 < values["deciding pulse to pin: median"] < values["deciding pulse to pin: max"]


def test_waiting_for_each_pulse_in_turn_sees_few_of_them() -> None:
    values = {row.what: row.value for row in pulse_in_figures(frames=120)}
    assert values["pulses seen, coincident"] < 15
    assert values["pulse to pin, coincident: max"] > 20
