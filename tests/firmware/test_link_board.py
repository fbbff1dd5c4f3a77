"""The real sketch at the end of the link: the board's own sampled inputs, run in the model."""

from __future__ import annotations

import pytest

from gen.load import load
from gen.render import render
from host_tools.cli.ships import starters
from host_tools.firmware import FirmwareRung
from host_tools.link.live import Live
from host_tools.link.simulated.chip_board import ChipBoard
from host_tools.link.simulated.sources import thumbs
from host_tools.link.stream import Stream
from tests.host_tools.link.wires import InStep

pytestmark = pytest.mark.firmware


@pytest.mark.parametrize("name", ["launch", "cutter", "salvor-nano", "tender"])
def test_a_minute_of_thumbs_agrees(name: str) -> None:
    loaded = load(starters()[name])
    plan = loaded.plan
    rung = FirmwareRung.of_sketch(plan, loaded.board, render(plan, loaded.board))
    board = ChipBoard(rung, lambda: thumbs(plan, 5))
    try:
        session = InStep(board).session()
        live = Live(plan)
        session.listener = Stream(live.take, live.start_anew, lambda: session.dropped).hear
        live.start_anew()
        identity = session.open()
        assert (identity.ship, identity.plan_id) == (plan.ship, plan.plan_id)
        live.begin(identity.kept)
        session.run(60)
    finally:
        board.close()
    assert live.difference is None
    assert not live.waits_for_start
    assert live.compared > 11_000
    assert session.dropped == 0
