"""A board as the last rung: trials and traces played to it over the link."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from gen.diagnostics import Problems
from gen.load import load
from gen.read.trial_steps import read_trials
from host_tools.cli.ships import starters
from host_tools.link.errors import LinkError
from host_tools.link.rung import BoardRung
from host_tools.link.simulated.board import ModelBoard
from host_tools.link.simulated.sources import at_rest, switched_off
from host_tools.model import Model
from host_tools.thumbs import random_trace
from host_tools.trial import run, script
from tests.host_tools.link.wires import InStep


@cache
def ship(name: str):  # type: ignore[no-untyped-def]  # what load() gives
    return load(starters()[name])


def rung(name: str, **wire: object) -> BoardRung:
    plan = ship(name).plan
    board = ModelBoard(plan, lambda: switched_off(plan), bench="on")
    return BoardRung(plan, InStep(board, **wire).session())  # type: ignore[arg-type]


@pytest.mark.parametrize("name", starters())
def test_every_trial_of_every_starter(name: str) -> None:
    loaded = ship(name)
    trials = read_trials(loaded.ship, loaded.plan, Problems(name))
    on_board = rung(name)
    short = [trial.name for trial in trials if run(loaded.plan, trial, on_board)]
    # A clock that runs since power-up cannot be caught: the trial begins a little later.
    assert short in ([], ["the spare light is in step with the clock, not with the key"])


def test_what_a_board_did_is_what_the_model_does() -> None:
    """In step no pulse is late by more than another one, so it is the same to the tick."""
    loaded = ship("launch")
    for trial in read_trials(loaded.ship, loaded.plan, Problems("launch")):
        trace = script(loaded.plan, trial).trace
        played = rung("launch").run(trace)
        model = Model(loaded.plan).run(trace)
        apart = np.flatnonzero(played.lines != model.lines)
        assert len(apart) <= 2, trial.name


def test_another_plan() -> None:
    plan = ship("launch").plan
    board = ModelBoard(plan, lambda: switched_off(plan))
    port = InStep(board)
    with pytest.raises(LinkError) as error:
        BoardRung(ship("tender").plan, port.session())
    assert error.value.code == "other-plan"
    assert not any(word in port.sent for word in (b"bench", b" p ", b"arm", b"restart"))


def test_no_bench() -> None:
    plan = ship("launch").plan
    board = ModelBoard(plan, lambda: switched_off(plan), bench="off")
    with pytest.raises(LinkError) as error:
        BoardRung(ship("launch").plan, InStep(board).session())
    assert error.value.code == "bench-off"


def test_a_receiver_that_is_switched_on() -> None:
    plan = ship("launch").plan
    board = ModelBoard(plan, lambda: at_rest(plan))
    with pytest.raises(LinkError) as error:
        BoardRung(plan, InStep(board).session()).run(random_trace(plan, 200, 1))
    assert error.value.code == "receiver-heard"


def test_lines_that_are_lost_on_the_way_there() -> None:
    sent = 0

    def spoil(data: bytes) -> bytes:
        nonlocal sent
        sent += b" p " in data
        return data if sent != 20 else b""

    with pytest.raises(LinkError) as error:
        rung("launch", spoil_out=spoil).run(random_trace(ship("launch").plan, 2_000, 1))
    assert error.value.code == "line-damaged"


def test_a_cable_that_is_pulled() -> None:
    with pytest.raises(LinkError) as error:
        rung("launch", unplug_at=700).run(random_trace(ship("launch").plan, 2_000, 1))
    assert error.value.code == "port-gone"
    assert error.value.board_fell_short
