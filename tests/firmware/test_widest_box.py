"""The widest shared channel there is, 24 slots of three frames, on all rungs."""

from __future__ import annotations

import pytest

from gen.load import load_text
from host_tools.agree import first_difference
from host_tools.model import Model
from host_tools.rungs import open_rung
from host_tools.transmitter import Transmitter

pytestmark = pytest.mark.firmware

SHIP = """\
ship: Turnstone
board: nano
receiver:
  channels:
    box: {pin: D2, shares: 24 slots, marker: above 2100 us, frames per slot: 3}
controls:
  first key: {from: box, slot: 1}
  last key: {from: box, slot: 24}
outputs:
  relay 1: D5
  relay 2: D6
functions:
  horn: {momentary: first key up, drives: relay 1}
  lamp: {toggle: last key up, drives: relay 2}
"""
ROUNDS_TICKS = 5 * 75 * 4
"""Five rounds."""


def test_every_rung_agrees() -> None:
    loaded = load_text(SHIP.encode())
    assert loaded.plan.channels[0].sharing is not None
    assert loaded.plan.channels[0].sharing.pulses == 72
    sender = Transmitter(loaded.plan)
    for control, position in ((0, 2), (0, 1), (1, 2), (1, 1)):
        sender.run(ROUNDS_TICKS)
        sender.put(control, position)
    sender.run(ROUNDS_TICKS)
    trace = sender.trace("by hand")
    expected = Model(loaded.plan).run(trace)
    assert set(expected.lines.tolist()) == {0, 1, 2}
    for name in ("logic", "proof", "firmware"):
        with open_rung(name, loaded.plan, loaded.board) as rung:
            record = rung.run(trace)
        model = expected if name != "firmware" else Model(loaded.plan).run(record.trace)
        assert first_difference(model, record) is None, name
