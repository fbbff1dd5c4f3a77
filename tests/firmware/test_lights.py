"""Dimmed pins in the simulated chip: as bright as asked for, and at nobody's cost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.behaviours import Dimmer, Loss
from gen.behaviours.dimmer import WHOLE_FADE
from gen.behaviours.trigger import Trigger, When
from gen.boards import load_board
from gen.lightness import FULL
from gen.plan import Ask, Channel, Control, Light, Plan, Position
from gen.render import render
from gen.render.wiring import SOFTWARE
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareRung
from host_tools.firmware.lights import HARDWARE_TOLERANCE_CYCLES, SOFTWARE_TOLERANCE_CYCLES
from host_tools.model import Model
from host_tools.thumbs import random_trace
from host_tools.trace import Trace

if TYPE_CHECKING:
    from gen.boards import Board

pytestmark = pytest.mark.firmware

LIGHTS = {
    "nano": (("D3", "OC2B"), ("D11", "OC2A"), *((f"A{n}", SOFTWARE) for n in range(6))),
    "mega": (("D10", "OC2A"), ("D5", "OC3A"), *((f"A{n}", SOFTWARE) for n in range(8))),
    "micro": (("D5", "OC3A"), *((f"A{n}", SOFTWARE) for n in range(6))),
}
INPUTS = {"nano": ("D2", "D8"), "mega": ("A8", "D12"), "micro": ("D8", "D14")}


def plan_on(board: str) -> Plan:
    """Lights that sweep slowly from dark to full and back, and one that follows a knob."""
    bands = (
        (Position("anywhere", "anywhere", 1400, 4600),),
        (Position("off", "off", 1400, 2500), Position("on", "on", 2600, 4600)),
    )
    lights = LIGHTS[board]
    return Plan(
        ship="Test Lamp",
        code="test_lamp",
        board=board,
        channels=tuple(
            Channel(f"c{index}", f"c{index}_channel", pin, (1400, 4600), 0, 65535, 60)
            for index, pin in enumerate(INPUTS[board])
        ),
        controls=tuple(
            Control(f"k{n}", f"k{n}", "knob", n, bands[n], 0, 0, 2, True, 0, (2000, 4000))
            for n in range(2)
        ),
        lines=(),
        pairs=(),
        servos=(),
        functions=tuple(
            Dimmer(
                name=f"lamp {index}",
                code=f"lamp_{index}",
                on_loss=Loss.KEEP,
                trigger=Trigger(When.HELD, Ask(1, 1)) if index else Trigger(When.ALWAYS),
                brightness=FULL,
                knob=None if index else 0,
                up_per_256=60 + 50 * index if index else WHOLE_FADE,
                down_per_256=200,
                flicker="",
                seed=1,
                drives=index,
            )
            for index in range(len(lights))
        ),
        lights=tuple(
            Light(f"light {index}", f"light_{index}", pin, unit)
            for index, (pin, unit) in enumerate(lights)
        ),
    )


def sweep(ticks: int) -> Trace:
    at = np.arange(0, ticks, 4)
    knob = np.linspace(2000, 4000, len(at)).astype(np.uint16)
    key = np.where(at < 100, 2000, 3000).astype(np.uint16)
    return Trace(ticks, ("c0", "c1"), at, np.stack([knob, key], axis=1))


def rung_on(board: Board) -> FirmwareRung:
    plan = plan_on(board.name)
    return FirmwareRung.of_sketch(plan, board, render(plan, board))


@pytest.mark.parametrize("name", LIGHTS)
def test_every_pin_is_as_bright_as_asked_for(name: str) -> None:
    with rung_on(load_board(name)) as rung:
        record, run = rung.observe(sweep(1500))
        assert first_difference(Model(rung.plan).run(record.trace), record) is None
        for index, light in enumerate(rung.plan.lights):
            errors, ticks = rung.light_errors(index, run)
            software = light.unit == SOFTWARE
            most = SOFTWARE_TOLERANCE_CYCLES if software else HARDWARE_TOLERANCE_CYCLES
            assert len(ticks) > 100
            assert np.abs(errors).max() <= most
            shown = set(record.levels[:, index].tolist())
            assert len(shown) > (60 if index else 20)


@pytest.mark.parametrize("name", LIGHTS)
def test_dark_is_dark_and_full_is_full(name: str) -> None:
    """No sliver of light at 0, and only a timer's one part in 256 is missing at 255."""
    with rung_on(load_board(name)) as rung:
        record, run = rung.observe(sweep(1500))
        for index, light in enumerate(rung.plan.lights[1:], 1):
            output = len(rung.plan.lines) + len(rung.plan.servos) + index
            edges = run.edges[run.edges["output"] == output]
            lit = np.flatnonzero(record.levels[:, index])
            begins = run.ticks["sampled"][lit[0]]
            assert not (edges["level"][edges["cycle"] < begins] & 1).any()
            if light.unit == SOFTWARE:
                full = np.flatnonzero(record.levels[:, index] == FULL)
                settled = edges["cycle"] > run.ticks["done"][full[2]]
                assert not settled[edges["cycle"] < run.ticks["sampled"][full[-1]]].any()


def test_reading_pulses_is_no_worse_for_it() -> None:
    """The rung itself refuses what lies beyond the tolerance that stands beside its number."""
    with rung_on(load_board("nano")) as rung:
        for seed in (1, 2):
            record = rung.run(random_trace(rung.plan, 1000, seed))
            assert first_difference(Model(rung.plan).run(record.trace), record) is None
