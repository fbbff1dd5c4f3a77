"""A board on the bench, in stepped time: what it tells, with the model beside it."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from host_tools.bench.local_port import Pins
from host_tools.bench.radio import Player, Radio
from host_tools.firmware.chip import BYTE
from host_tools.link.simulated import sources
from host_tools.link.simulated.board import ModelBoard
from host_tools.link.simulated.chip_board import ChipBoard
from host_tools.opened import opened_file
from host_tools.thumbs import random_trace
from tests.host_tools.bench.benches import starter
from tests.host_tools.bench.boards import Boards

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.model.stepwise import Driven


def test_board_is_named_and_agrees_with_the_model() -> None:
    bench = Boards().bench
    bench.run(5.0)
    state = bench.told.state
    assert (state["source"], state["where"]) == ("board", "/dev/ttyUSB0")
    assert (state["link"], state["plan_is_files"]) == ("up", True)
    assert state["board_ship"] == "Skerry Maid"
    agreement = state["agreement"]
    assert agreement["compared_ticks"] > 600
    assert (agreement["differences"], agreement["waits"], agreement["starts"]) == (0, "", 1)
    assert state["signal"] == "all"


def test_ticks_are_told_in_their_order_and_none_is_missing() -> None:
    bench = Boards().bench
    bench.run(5.0)
    ks = [row["k"] for row in bench.told.rows]
    assert ks == sorted(ks)
    pulses = [p for row in bench.told.rows for p in row.get("p", ()) if row["k"] > 200]
    assert abs(len(pulses) - (bench.bench.source.until - 200) / 200 * 250) < 20


def test_line_is_shown_within_40_ms_of_its_tick() -> None:
    """20 ms for the line of a busy wire, 20 ms until the next message."""
    boards = Boards(radio=True)
    bench = boards.bench
    bench.run(2.0)
    bench.put("deck key", "up")
    while "deck key up" not in bench.told.log:
        bench.run(0.005)
    board = boards.cable.board
    assert isinstance(board, ModelBoard)
    key = bench.index("controls", "deck key")
    up = next(row["k"] for row in bench.told.rows if [key, 2, 0, 1] in row.get("c", ()))
    # The board's ticks and the bench's are the same ones: it was plugged in as the bench began.
    assert 0 <= board.now - up <= 40 / TICK_MS


def test_simulated_pins_are_worked_by_the_page() -> None:
    bench = Boards(radio=True).bench
    bench.run(1.0)
    assert bench.told.state["can"]["move"]
    assert bench.put("deck key", "up")["ok"]
    bench.run(0.4)
    bench.put("deck key", "centre")
    bench.run(0.4)
    assert bench.state_of("deck lights") == "on"
    assert bench.ask("signal", lost=True)["ok"]
    bench.run(1.0)
    assert bench.told.state["signal"] == "none"
    assert bench.state_of("anchor light") == "on"
    bench.run(3.0)
    assert bench.told.state["agreement"]["differences"] == 0
    assert bench.told.state["agreement"]["compared_ticks"] > 500


def test_controls_of_a_real_board_are_its_transmitters() -> None:
    bench = Boards().bench
    bench.run(1.0)
    assert bench.put("deck key", "up")["code"] == "not-now"
    assert bench.ask("signal", lost=True)["code"] == "not-now"
    assert not bench.told.state["can"]["move"]


def test_board_is_worked_from_here_once_that_was_asked_for() -> None:
    bench = Boards().bench
    bench.run(1.0)
    assert bench.ask("inputs", on=True)["ok"]
    bench.run(1.0)
    assert bench.told.state["bench"]["inputs"]
    assert bench.put("deck key", "up")["ok"]
    bench.run(0.4)
    bench.put("deck key", "centre")
    bench.run(0.4)
    assert bench.state_of("deck lights") == "on"
    assert bench.ask("inputs", on=False)["ok"]
    bench.run(1.0)
    assert not bench.told.state["bench"]["inputs"]
    assert bench.state_of("deck lights") == "off"  # it has started anew


def test_cable_is_pulled_and_put_back() -> None:
    boards = Boards()
    bench = boards.bench
    bench.run(3.0)
    boards.cable.pulled = True
    bench.run(0.2)
    assert bench.told.state["link"] == "gone"
    assert "plug it in again" in bench.told.state["link_why"]
    until = bench.bench.source.until
    boards.cable.pulled = False
    bench.run(4.0)
    state = bench.told.state
    assert state["link"] == "up"
    assert state["agreement"]["starts"] == 2
    assert state["agreement"]["differences"] == 0
    assert bench.bench.source.until > until
    ks = [row["k"] for row in bench.told.rows]
    assert ks == sorted(ks)


class Liar(ModelBoard):
    """From its thousandth tick on it tells its first line the wrong way round."""

    def _tell(self, pulses: tuple[tuple[int, int], ...], force: int, driven: Driven) -> None:
        if self.now > 1000:
            driven = driven._replace(lines=driven.lines ^ 1)
        super()._tell(pulses, force, driven)


def test_difference_is_shown_with_its_tick() -> None:
    bench = Boards(kind=Liar).bench
    bench.run(8.0)
    agreement = bench.told.state["agreement"]
    assert agreement["differences"] == 1
    assert "outputs at tick 1001" in agreement["first"]


def test_board_with_another_plan_is_told_and_not_shown() -> None:
    bench = Boards(runs="launch").bench
    bench.run(2.0)
    state = bench.told.state
    assert state["link"] == "wrong"
    assert not state["plan_is_files"]
    assert state["board_plan"] not in ("", bench.told.ship["plan"])
    assert not state["can"]["force"]


def test_random_thumbs_are_shown_as_the_model_has_them() -> None:
    bench = Boards(radio=True).bench
    trace = sources.bearable(random_trace(bench.bench.opened.plan, 4_000, 3).without_forces())
    bench.bench.source.play(Player([trace]))
    bench.run(15.0)
    agreement = bench.told.state["agreement"]
    assert agreement["differences"] == 0, agreement
    assert agreement["compared_ticks"] > 1_500


class Counted:
    """A rung without a chip: what its pins are given is all that matters."""

    first_tick = 200_000

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.given: list[int] = []

    def power_up(self, *, jumper: bool) -> Counted:
        del jumper
        return self

    def run(self, until: int, heard: object, events: NDArray[np.void]) -> SimpleNamespace:
        del until, heard
        self.given.append(len(events))
        return SimpleNamespace(said=np.zeros(0, BYTE))

    def close(self) -> None:
        pass


def test_chip_in_silence_goes_on_and_is_not_run_ahead_of() -> None:
    """With nothing on any pin there is no event to wait for; and a hand that moves is seen at
    once, not when what was made beforehand is used up."""
    plan = opened_file(starter("pinnace")).plan
    pins = Pins(plan, Radio(plan))
    rung = Counted(plan)
    board = ChipBoard(rung, pins.receives)  # type: ignore[arg-type]
    for _ in range(40):
        board.tick(b"")
    assert sum(rung.given) > 40
    pins.radio.lose(range(len(plan.channels)))
    for _ in range(10):
        board.tick(b"")
    rung.given.clear()
    for _ in range(100):
        board.tick(b"")
    assert sum(rung.given) < 60  # what has a preset for a lost signal goes on, no more
    pins.radio.restore(range(len(plan.channels)))
    rung.given.clear()
    for _ in range(12):
        board.tick(b"")
    assert sum(rung.given) > 8
