"""Shift registers on the simulated chip: filled in time, never showing what was not asked for."""

from __future__ import annotations

from contextlib import ExitStack
from functools import cache
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pytest

from gen.boards import load_board
from gen.load import load_text
from gen.render import render
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareFault, FirmwareRung
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import lay_out
from host_tools.model import Model
from host_tools.thumbs import random_trace
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.firmware

SHIP = """\
ship: Shelf
board: nano
receiver: {channels: {keys: D2}}
controls: {key: keys}
outputs:
  shelf: {kind: shift register, data: D11, clock: D13, latch: D10, blank: D12, outputs: 24}
  siren: {pin: shelf 1, active: low}
  gong:  {pin: shelf 24, active: low}
  hoist: {lower: shelf 9, raise: shelf 16}
  plain: D5
functions:
  lamp: {toggle: key up, drives: siren}
  horn: {momentary: key up, drives: gong}
  bell: {momentary: key down, drives: shelf 7}
  drum: {momentary: key up, drives: plain}
  davit:
    {winch: {lower: key down, raise: key up}, limit: {lower: 3 s, raise: 3 s}, drives: hoist}
"""
UNBLANKED = SHIP.replace(", blank: D12", "")

SAFE_CYCLES = 1_500
"""Three registers are filled with what is safe within 94 us of a reset."""


MOST_CYCLES = 3_200
"""0.2 ms from the end of a tick's sampling to the last output, five functions and all."""


class Compiled(Protocol):
    def __call__(self, text: str, edit: tuple[str, str, str] | None = None) -> FirmwareRung: ...


@pytest.fixture(scope="module")
def shelf() -> Iterator[Compiled]:
    with ExitStack() as stack:

        @cache
        def make(text: str, edit: tuple[str, str, str] | None = None) -> FirmwareRung:
            board = load_board("nano")
            plan = load_text(text.encode()).plan
            sketch = dict(render(plan, board))
            if edit is not None:
                name, old, new = edit
                assert old in sketch[name]
                sketch[name] = sketch[name].replace(old, new)
            return stack.enter_context(FirmwareRung.of_sketch(plan, board, sketch))

        yield make


def worked(*positions: int) -> Trace:
    """The key at rest, then in each of these positions (half microseconds) for a second."""
    at = np.arange(0, 200 * (len(positions) + 1), 4)
    widths = np.repeat([3000, *positions], 50).reshape(-1, 1)
    return Trace(len(at) * 4, ("keys",), at, widths.astype(np.uint16))


UP_AND_DOWN = worked(3800, 3000, 2200, 3000, 3800)


def test_model_and_chip_agree(shelf: Compiled) -> None:
    rung = shelf(SHIP)
    for trace in (UP_AND_DOWN, random_trace(rung.plan, 1_500, 1)):
        record = rung.run(trace)
        assert first_difference(Model(rung.plan).run(record.trace), record) is None
    record = rung.run(UP_AND_DOWN)
    assert np.bitwise_or.reduce(record.lines) == (1 << len(rung.plan.lines)) - 1


def levels_on(rung: FirmwareRung) -> list[int]:
    return [0 if line.active_low else 1 for line in rung.plan.lines]


def test_blanked_registers_show_nothing_before_the_first_tick(shelf: Compiled) -> None:
    rung = shelf(SHIP)
    run = rung.run_events(np.empty(0, EVENT), 20)
    for line, level_on in enumerate(levels_on(rung)):
        edges = run.edges[(run.edges["output"] == line) & (run.edges["driven"] == 1)]
        assert len(edges)
        assert not np.any(edges["level"] == level_on)
        if rung.plan.lines[line].shifted is not None:
            assert edges["cycle"][0] >= run.ticks["sampled"][0]


def test_without_a_blank_pin_they_are_safe_as_soon_as_the_chip_is(shelf: Compiled) -> None:
    rung = shelf(UNBLANKED)
    run = rung.run_events(np.empty(0, EVENT), 20)
    for line, level_on in enumerate(levels_on(rung)):
        edges = run.edges[(run.edges["output"] == line) & (run.edges["driven"] == 1)]
        on = edges["cycle"][edges["level"] == level_on]
        assert not np.any(on > 0)  # what they showed when power came is not ours to say
        assert edges["cycle"][-1] < SAFE_CYCLES


@pytest.mark.parametrize("text", [SHIP, UNBLANKED], ids=["blanked", "unblanked"])
def test_a_hang_ends_with_all_of_them_off(text: str, shelf: Compiled) -> None:
    hang = "if (report.tick == 300) { for (;;) {} }\n  board::tick_done();"
    rung = shelf(text, ("shelf.ino", "board::tick_done();", hang))
    trace = worked(3800)
    with pytest.raises(FirmwareFault, match="the watchdog reset the chip after 300 ticks"):
        rung.run(trace)
    run = rung.run_events(lay_out(trace, rung.first_tick).events(), 380)
    reset = run.resets[0]
    horn = next(i for i, line in enumerate(rung.plan.lines) if line.name == "gong")
    edges = run.edges[run.edges["output"] == horn]
    assert edges[edges["cycle"] < reset][-1]["level"] == 0  # on, by its polarity
    after = edges[edges["cycle"] >= reset]
    assert after[0]["cycle"] - reset < SAFE_CYCLES
    assert not np.any((after["level"] == 0) & (after["driven"] == 1))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("levels << 1", "levels >> 1"),
        ("(levels & 0x80u) != 0", "(levels & 0x40u) != 0"),
        ("shift_into_shelf(levels);\n  levels", "levels"),
        ("  show_registers();\n  clear(", "  clear("),
    ],
)
def test_a_shelf_that_is_filled_wrongly_is_found_out(old: str, new: str, shelf: Compiled) -> None:
    rung = shelf(SHIP, ("src/board/wiring.h", old, new))
    record = rung.run(UP_AND_DOWN)
    difference = first_difference(Model(rung.plan).run(record.trace), record)
    assert difference is not None
    assert difference.what == "outputs"


def test_they_are_filled_in_time(shelf: Compiled) -> None:
    run = shelf(SHIP).observe(UP_AND_DOWN)[1]
    until_driven = (run.ticks["driven"] - run.ticks["sampled"]).astype(np.int64)
    assert until_driven.max() < MOST_CYCLES
