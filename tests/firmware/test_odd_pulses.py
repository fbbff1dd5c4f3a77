"""Pulses that no receiver should send, and noise."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from host_tools.firmware.chip import EVENT, read_program, run_chip
from host_tools.firmware.pulses import TOO_LONG
from host_tools.firmware.sensors import CHANGE_CYCLES
from host_tools.trace import Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.firmware import FirmwareRung
    from host_tools.firmware.chip import ChipRun
    from tests.firmware.conftest import Compiled

pytestmark = pytest.mark.firmware

CYCLES_A_US = 16
CYCLES_A_TICK = 80_000


def square_wave(inputs: range, first: int, last: int, half_period: int) -> NDArray[np.void]:
    """All inputs together up and down, from one cycle to another."""
    cycles = np.arange(first, last, half_period)
    events = np.zeros(len(cycles) * len(inputs), EVENT)
    events["cycle"] = np.repeat(cycles, len(inputs))
    events["input"] = np.tile(list(inputs), len(cycles))
    events["level"] = np.repeat(1 - np.arange(len(cycles)) % 2, len(inputs))
    return events


def seen(run: ChipRun, channel: int) -> NDArray[np.int64]:
    """The widths that the firmware reported for one channel."""
    reports = run.ticks["report"]
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    return np.asarray(pulses["width"][pulses["input"] == channel], dtype=np.int64)


@pytest.mark.parametrize("board", ["nano", "mega", "micro"])
@pytest.mark.parametrize("ms", [10.5, 19.5, 21.5, 25, 30, 41.5])
def test_a_pulse_longer_than_the_timer_turns_is_too_long(
    board: str, ms: float, compiled: Compiled
) -> None:
    """21.5 ms must not look like 1.5 ms, nor 41.5 ms, two turns on."""
    rung = compiled(board)
    start = rung.first_tick + 3 * CYCLES_A_TICK
    events = np.zeros(4, EVENT)
    long = int(ms * 1_000 * CYCLES_A_US)
    after = start + long + 3_000 * CYCLES_A_US
    events["cycle"] = [start, start + long, after, after + 1_500 * CYCLES_A_US]
    events["level"] = [1, 0, 1, 0]
    run = rung.run_events(events, 24)
    assert seen(run, 0).tolist()[0] == TOO_LONG
    assert seen(run, 0).tolist()[1:] == [pytest.approx(3_000, abs=2)]


def test_every_width_up_to_5_ms_is_measured(compiled: Compiled) -> None:
    rung = compiled("nano")
    widths = np.arange(200, 10_000, 97)
    trace = Trace(
        8 * len(widths),
        tuple(c.name for c in rung.plan.channels),
        np.arange(len(widths)) * 8 + 2,
        np.tile(widths[:, None], len(rung.plan.channels)).astype(np.uint16),
    )
    record = rung.run(trace)
    error = record.trace.widths_half_us.astype(int) - trace.widths_half_us.astype(int)
    assert np.array_equal(record.trace.at, trace.at)
    assert np.abs(error).max() <= 9


@pytest.mark.parametrize("board", ["nano", "mega", "micro"])
def test_a_flood_of_edges_is_weathered(board: str, compiled: Compiled) -> None:
    """50,000 edges a second on three inputs: pulses are lost, none is invented, and the next good
    frame is read as if nothing had been."""
    rung = compiled(board)
    begin = rung.first_tick + 5 * CYCLES_A_TICK
    end = begin + 20 * CYCLES_A_TICK
    flood = square_wave(range(3), begin, end, 20 * CYCLES_A_US)
    if len(flood) // 3 % 2:
        flood = flood[:-3]
    good = square_wave(
        range(len(rung.plan.channels)),
        end + 10_000 * CYCLES_A_US,
        end + 10_000 * CYCLES_A_US + 2 * 1_500 * CYCLES_A_US,
        1_500 * CYCLES_A_US,
    )
    run = rung.run_events(np.concatenate([flood, good]), 40)
    assert run.ended == "ticks"
    assert not run.resets
    counts = run.ticks["report"]["count"]
    assert counts.max() == run.ticks["report"]["pulses"].shape[1]
    for channel in range(len(rung.plan.channels)):
        *noise, last = seen(run, channel)
        assert last == pytest.approx(3_000, abs=3)
        assert all(width == pytest.approx(40, abs=7) for width in noise)
        assert (len(noise) > 20) == (channel < 3)


def test_a_ring_that_ran_over_invents_no_pulse(compiled: Compiled) -> None:
    """The main loop is kept from its work for 1 ms a tick, and edges come every 8 us: changes are
    dropped. What had begun ends unheard; nothing is put together from halves."""
    slow = 'board::tick_done();\n  for (uint16_t i = 0; i < 4000; ++i) { asm volatile("nop"); }'
    rung = compiled("nano", edit=("yardstick.ino", "board::tick_done();", slow))
    begin = rung.first_tick + 5 * CYCLES_A_TICK
    wave = square_wave(range(2), begin, begin + 8 * CYCLES_A_TICK, 8 * CYCLES_A_US)
    run = rung.run_events(wave, 20)
    assert run.ended == "ticks"
    assert not run.resets
    assert overflows(rung, wave) > 0
    for channel in (0, 1):
        widths = seen(run, channel)
        assert len(widths) > 20
        assert set(widths.tolist()) <= set(range(10, 24))


def overflows(rung: FirmwareRung, wave: NDArray[np.void]) -> int:
    """How often the ring ran over, by the firmware's own count."""
    run = run_chip(
        read_program(rung.elf, "_ZN9pulses_in6lossesE"),
        rung.board,
        ticks=20,
        cycles=40 * CYCLES_A_TICK,
        report=[("overflows", "<u2"), ("pulses", "<u2")],
        events=wave,
        inputs=[channel.pin for channel in rung.plan.channels],
    )
    return int(run.ticks["report"]["overflows"][-1])


@pytest.mark.parametrize("phase", [-0.06, -0.03, 0.0, 0.3])
@pytest.mark.parametrize("board", ["nano", "mega", "micro"])
def test_noise_does_not_slow_the_ships_clock(board: str, phase: float, compiled: Compiled) -> None:
    """Edges faster than the interrupt could take all the processor's time, and a winch's limit of 8
    seconds would last as long as the noise. So listening stops until the next tick. Noise that
    begins just when a tick is due delays that one, until all that was heard is worked out."""
    rung = compiled(board)
    begin = rung.first_tick + round((5 + phase) * CYCLES_A_TICK)
    wave = square_wave(range(1), begin, begin + 60 * CYCLES_A_TICK, 30)
    run = rung.run_events(wave, 100)
    assert run.ended == "ticks"
    assert not run.resets
    sampled = run.ticks["sampled"].astype(np.int64)
    late = sampled - sampled[0] - CYCLES_A_TICK * np.arange(len(sampled))
    *others, latest = sorted(late)
    assert latest < 1.25 * CYCLES_A_TICK / 5 < CHANGE_CYCLES  # ms; and no sensor reads too late
    assert others[-1] < 0.5 * CYCLES_A_TICK / 5
