"""A ship with a bench on the chip: nothing is forced unless a link says so."""

from __future__ import annotations

import pytest

from gen.load import load
from gen.plan import force_of
from gen.render import render
from gen.resources import resource
from host_tools.agree import agree
from host_tools.firmware import FirmwareRung
from host_tools.record import RungUnavailable
from host_tools.thumbs import random_trace

pytestmark = pytest.mark.firmware

SHIPS = resource("templates") / "ships"


@pytest.mark.parametrize("starter", ["tender", "cutter"])
def test_model_and_chip_agree_and_a_forced_trace_is_refused(starter: str) -> None:
    ship = load(SHIPS / f"{starter}.yaml")
    assert ship.plan.bench is not None
    with FirmwareRung.of_sketch(ship.plan, ship.board, render(ship.plan, ship.board)) as rung:
        assert agree(ship.plan, rung, 1_000, 4).difference is None
        force = (0, len(ship.plan.sensors), force_of(0, 1))
        trace = random_trace(ship.plan, 100, 4).with_readings(ship.plan.readings, [force])
        with pytest.raises(RungUnavailable, match="cannot force"):
            rung.run(trace)
