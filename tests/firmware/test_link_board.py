"""The real sketch at the end of the link: the board's own sampled inputs, run in the model."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

import pytest

from gen.diagnostics import Problems
from gen.load import load, load_text
from gen.read.trial_steps import read_trials
from gen.render import render
from host_tools.cli.ships import starters
from host_tools.firmware import FirmwareRung
from host_tools.link.live import Live
from host_tools.link.rung import BoardRung
from host_tools.link.simulated.chip_board import ChipBoard
from host_tools.link.simulated.sources import switched_off, thumbs
from host_tools.link.stream import Stream
from host_tools.transmitter import Transmitter
from host_tools.trial import run
from tests.host_tools.link.wires import InStep

if TYPE_CHECKING:
    from collections.abc import Iterator

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


@pytest.fixture(scope="module")
def tender() -> Iterator[ChipBoard]:
    loaded = load(starters()["tender"])
    plan = loaded.plan
    rung = FirmwareRung.of_sketch(plan, loaded.board, render(plan, loaded.board))
    board = ChipBoard(rung, lambda: switched_off(plan))
    yield board
    board.close()


def test_forces_at_random_agree(tender: ChipBoard) -> None:
    plan = load(starters()["tender"]).plan
    draw = random.Random(1)
    tender.power_up("power")
    session = InStep(tender).session()
    live = Live(plan)
    session.listener = Stream(live.take, live.start_anew, lambda: session.dropped).hear
    live.start_anew()
    live.begin(session.open().kept)
    for _ in range(15):
        function = draw.randrange(len(plan.functions))
        session.ask(f"arm {function}")
        session.ask(f"force {function} {draw.randrange(len(plan.functions[function].forces))}")
        session.keep_alive = draw.random() < 0.8
        session.run(draw.choice((0.05, 0.5, 3)))
    session.run(2)
    assert live.difference is None
    assert not live.waits_for_start
    assert live.compared > 1_500


def test_trials_on_the_board(tender: ChipBoard) -> None:
    loaded = load(starters()["tender"])
    on_board = BoardRung(loaded.plan, InStep(tender).session())
    for trial in read_trials(loaded.ship, loaded.plan, Problems("tender")):
        assert run(loaded.plan, trial, on_board) == [], trial.name


def test_what_is_kept_is_told_and_can_be_forgotten() -> None:
    """A ship that remembers its lamps; a bench, so that it can be restarted."""
    text = starters()["lightship"].read_text() + "\nbench: yes\n"
    loaded = load_text(text.encode())
    plan = loaded.plan
    assert plan.kept_bytes
    rung = FirmwareRung.of_sketch(plan, loaded.board, render(plan, loaded.board))
    board = ChipBoard(rung, lambda: switched_off(plan))
    try:
        session = InStep(board).session()
        assert session.open().kept == b""
        key = next(i for i, one in enumerate(plan.controls) if one.name == "house key")
        thumb = Transmitter(plan)
        thumb.run(100)
        thumb.put(key, plan.controls[key].rest + 1)
        thumb.run(40)
        thumb.put(key, plan.controls[key].rest)
        thumb.run(300)  # it is written by then
        assert BoardRung(plan, session).run(thumb.trace("pressed once")).kept == b"\x01"
        assert session.restart().kept == b"\x01"
        live = Live(plan)
        session.listener = Stream(live.take, live.start_anew, lambda: session.dropped).hear
        live.begin(session.restart().kept)
        session.run(5)
        assert live.difference is None
        assert live.compared > 500
        assert session.restart(forget=True).kept == b""
        assert session.identity is not None
        assert session.identity.reset_cause == "asked"
    finally:
        board.close()
