"""The way round: a radio, what is learned of it, the ship file, the plan, the sketch in the
simulated chip, and the same radio on its pins."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.behaviours import Momentary
from gen.boards import load_board
from gen.render import render
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareRung
from host_tools.model import Model
from tests.radios.draw import draw_radio
from tests.radios.judge import judge
from tests.radios.session import hour
from tests.radios.ship import for_plan, lever_of, plan_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.plan import Control, Plan
    from tests.radios.put_out import Played

pytestmark = pytest.mark.firmware

SEEDS = (5_002, 5_018)
LASTS_S = 24.0
TICK_S = 0.005


def in_position(played: Played, plan: Plan, control: Control, position: int) -> NDArray[np.bool_]:
    """In which ticks the lever stands in a position."""
    lever = lever_of(played, plan.channels[control.channel].name, control.slot)
    assert lever is not None
    ticks = np.arange(int(LASTS_S / TICK_S))
    widths = played.widths_us(lever, np.asarray(ticks * TICK_S, np.float64)) * 2
    band = control.positions[position]
    return np.asarray((widths >= band.low_half_us) & (widths <= band.high_half_us))


def for_long(holds: NDArray[np.bool_], ticks: int) -> NDArray[np.bool_]:
    """In which ticks it has held for so many."""
    since = np.arange(len(holds)) - np.maximum.accumulate(
        np.where(holds, -1, np.arange(len(holds)))
    )
    return np.asarray(holds & (since > ticks))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_radio_works_the_right_lamps(seed: int) -> None:
    radio = draw_radio(seed)
    _, learned, _ = judge(radio)
    assert learned is not None
    plan = plan_of(learned)
    assert plan is not None
    assert any(one.slot for one in plan.controls)
    settle = max(one.settle_pulses for one in plan.controls)
    played = hour(radio, LASTS_S, hold=3 * settle + 8)
    board = load_board(plan.board)
    with FirmwareRung.of_sketch(plan, board, render(plan, board)) as rung:
        record = rung.run(for_plan(plan, played.trace()))
    assert first_difference(Model(plan).run(record.trace), record) is None
    was_on = 0
    for function in plan.functions:
        assert isinstance(function, Momentary)
        ask = function.ask
        control = plan.controls[ask.control]
        every_s = radio.cycle_s if control.slot else radio.frame_us / 1e6
        late = (settle + 3) * every_s / TICK_S
        there = in_position(played, plan, control, ask.position)
        is_on = (record.lines[: len(there)] >> np.uint64(function.drives)) & np.uint64(1) > 0
        assert not (is_on & for_long(~there, round(late))).any(), function.name
        was_on += bool((is_on & there).any())
    assert was_on >= 2
