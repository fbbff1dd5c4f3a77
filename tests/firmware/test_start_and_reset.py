"""What no reset may do: switch something on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.boards import board_names, load_board
from host_tools.firmware import FirmwareFault
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import lay_out
from host_tools.firmware.rung import pulses_on
from host_tools.prove.hang import MEASURED_MS, MEASURED_ON, SAFE_WITHIN_CYCLES
from host_tools.thumbs import random_trace
from host_tools.trace import Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.firmware import FirmwareRung
    from host_tools.firmware.chip import ChipRun
    from tests.firmware.conftest import Compiled

pytestmark = pytest.mark.firmware

CYCLES_A_MS = 16_000
NOTHING = np.empty(0, EVENT)


def on_times(rung: FirmwareRung, run: ChipRun, line: int) -> NDArray[np.int64]:
    """When, by its pin, a line was switched on."""
    edges = run.edges[run.edges["output"] == line]
    level_on = 0 if rung.plan.lines[line].active_low else 1
    on = (edges["driven"] == 1) & (edges["level"] == level_on)
    return np.asarray(edges["cycle"][on], dtype=np.int64)


@pytest.mark.parametrize("core", [False, True], ids=["bare", "core"])
@pytest.mark.parametrize("board", ["nano", "mega", "micro"])
def test_nothing_is_on_before_it_is_asked_for(board: str, core: bool, compiled: Compiled) -> None:
    rung = compiled(board, core=core)
    run = rung.run_events(NOTHING, 200)
    for line in range(len(rung.plan.lines)):
        edges = run.edges[run.edges["output"] == line]
        assert edges["driven"].any()
        # Long before main().
        assert edges["cycle"][edges["driven"] == 1][0] < SAFE_WITHIN_CYCLES
        assert not len(on_times(rung, run, line))
    for index, servo in enumerate(rung.plan.servos):
        rises, widths = pulses_on(run, len(rung.plan.lines) + index)
        assert 40 < len(rises) <= 52, servo.name
        assert np.all(np.abs(widths / 8 - servo.rest_half_us) < 1)


def test_a_hang_ends_in_a_reset_with_everything_off(compiled: Compiled) -> None:
    """The horn is blowing when the board hangs: the watchdog silences it, and it stays silent
    although the key is still held."""
    hang = "if (report.tick == 200) { for (;;) {} }\n  board::tick_done();"
    rung = compiled("nano", edit=("yardstick.ino", "board::tick_done();", hang))
    frames = np.arange(0, 400, 4)
    widths = np.full((len(frames), len(rung.plan.channels)), 3000, np.uint16)
    widths[10:, 0] = 3800
    trace = Trace(400, tuple(c.name for c in rung.plan.channels), frames, widths)
    with pytest.raises(FirmwareFault, match="the watchdog reset the chip after 200 ticks"):
        rung.run(trace)

    run = rung.run_events(lay_out(trace, rung.first_tick).events(), 360)
    hung = int(run.ticks["done"][199])
    reset = run.resets[0]
    assert 100 < (reset - hung) / CYCLES_A_MS < 145
    horn = run.edges[run.edges["output"] == 0]
    before, after = horn[horn["cycle"] < reset], horn[horn["cycle"] >= reset]
    assert before[-1]["level"] == 1
    assert after[0]["cycle"] == reset
    assert not after["level"].any()
    for line in range(1, len(rung.plan.lines)):
        assert not np.any(on_times(rung, run, line) >= reset)


@pytest.mark.parametrize("board", MEASURED_ON)
def test_a_hang_lasts_as_long_as_proofs_say(board: str, compiled: Compiled) -> None:
    """On every board there is; and what they say of how slow a watchdog may be is no less."""
    assert board_names() == list(MEASURED_ON)
    hang = "if (report.tick == 60) { for (;;) {} }\n  board::tick_done();"
    rung = compiled(board, edit=("yardstick.ino", "board::tick_done();", hang))
    run = rung.run_events(NOTHING, 120)
    lasted_ms = (int(run.resets[0]) - int(run.ticks["done"][59])) / CYCLES_A_MS
    assert round(lasted_ms) == MEASURED_MS <= load_board(board).watchdog.latest_ms
    # Nothing is driven any more; the same start as at power-up follows.
    for line in range(len(rung.plan.lines)):
        edges = run.edges[run.edges["output"] == line]
        at_reset = edges[edges["cycle"] == run.resets[0]]
        assert len(at_reset)
        assert not at_reset["driven"].any()
        assert not np.any(on_times(rung, run, line) >= run.resets[0])


def test_a_board_without_a_watchdog_hangs_for_ever(compiled: Compiled) -> None:
    """What the proofs look for in a sketch is what makes the difference."""
    hang = "if (timing.ticks == 60) { wdt_disable(); for (;;) {} }\n  wdt_reset();"
    rung = compiled("nano", edit=("src/board/board.cpp", "wdt_reset();", hang))
    run = rung.run_events(NOTHING, 120)
    assert not len(run.resets)
    assert len(run.ticks["done"]) <= 61


def test_ticks_are_5_ms_apart(compiled: Compiled) -> None:
    """Exactly so in the long run, and to 0.1 ms each: the main loop may be at a servo's edge."""
    rung = compiled("nano")
    _, run = rung.observe(random_trace(rung.plan, 1_000, 3))
    sampled = run.ticks["sampled"].astype(np.int64)
    off = sampled - sampled[0] - 80_000 * np.arange(len(sampled))
    assert np.abs(off).max() < 0.1 * CYCLES_A_MS
    assert np.median(np.abs(off)) < 320  # 20 us: a step of the link takes up to 45
