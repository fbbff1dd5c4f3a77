"""Sensors on the simulated chips: voltages and contacts as they were given, on every board."""

from __future__ import annotations

import numpy as np
import pytest

from gen.boards import load_board
from gen.load import load_text
from gen.render import render
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareFault, FirmwareRung
from host_tools.model import Model
from host_tools.thumbs import random_trace

pytestmark = pytest.mark.firmware

SHIP = """\
ship: Feeler
board: {board}
receiver: {{channels: {{keys: {key}}}}}
controls: {{key: keys}}
sensors:
  first level:  {{pin: {first}, kind: analogue, filter: 0 s}}
  second level: {{pin: {second}, kind: analogue, filter: 50 ms}}
  end stop:     {{pin: {low}, debounce: 10 ms}}
  beam:         {{pin: {high}, active: high}}
outputs: {{relay 1: {lines[0]}, relay 2: {lines[1]}, relay 3: {lines[2]}, relay 4: {lines[3]}}}
functions:
  pump: {{auto: first level above 2.5 V, by hand: key up, drives: relay 1}}
  fan:  {{auto: second level below 1 V for 50 ms, drives: relay 2}}
  bell: {{auto: end stop closed, longest: 1 s, drives: relay 3}}
  lamp: {{auto: beam open, run on: 0.1 s, drives: relay 4}}
"""

PINS = {
    "nano": {"key": "D2", "first": "A0", "second": "A7", "low": "D7", "high": "A2",
             "lines": ("D5", "D6", "A3", "D8")},
    "mega": {"key": "D50", "first": "A1", "second": "A15", "low": "D22", "high": "D40",
             "lines": ("D23", "D24", "D41", "A8")},
    "micro": {"key": "D14", "first": "A5", "second": "A8", "low": "D2", "high": "D9",
              "lines": ("D3", "D4", "D10", "A0")},
}  # fmt: skip
"""A contact shares its port with lines where there is room: writing these must not pull it up."""


def feeler(board: str, edit: tuple[str, str] | None = None) -> FirmwareRung:
    plan = load_text(SHIP.format(board=board, **PINS[board]).encode()).plan
    sketch = dict(render(plan, load_board(board)))
    if edit is not None:
        assert edit[0] in sketch["src/board/sensors.cpp"]
        sketch["src/board/sensors.cpp"] = sketch["src/board/sensors.cpp"].replace(*edit)
    return FirmwareRung.of_sketch(plan, load_board(board), sketch)


@pytest.mark.parametrize("board", PINS)
def test_model_and_chip_agree(board: str) -> None:
    with feeler(board) as rung:
        given = random_trace(rung.plan, 1_500, 5)
        record = rung.run(given)
        assert first_difference(Model(rung.plan).run(record.trace), record) is None
        seen, meant = record.trace.readings_by_tick(), given.readings_by_tick()
        assert np.mean(seen == meant) > 0.99  # what is late by a tick came in a flood of pulses
        assert all(len(np.unique(seen[:, sensor])) > 1 for sensor in range(4))


@pytest.mark.parametrize(
    "edit",
    [
        ("counts[turn] = ADC;", "counts[turn] = ADC / 2;"),
        ("channel & 7u", "channel & 6u"),
        ("  begin();\n}\n\nvoid take", "}\n\nvoid take"),
        ("contact.pin) != 0", "contact.pin) == 0"),
    ],
)
def test_a_chip_that_reads_wrongly_is_found_out(edit: tuple[str, str]) -> None:
    with feeler("nano", edit) as rung, pytest.raises(FirmwareFault, match="the chip read"):
        rung.run(random_trace(rung.plan, 600, 5))
