"""Holds what comes out of dimmed pins against the duties that the firmware asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.pulses import CYCLES_A_HALF_US

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.firmware.chip import ChipRun

TURN_CYCLES = 64 * 256
"""A turn of a timer that dims: 256 counts at a prescaler of 64."""

STEP_CYCLES = 39 * CYCLES_A_HALF_US
"""One of 256 parts of a tick, as software_lights.cpp counts them."""

DUTIES = 256
HALF = DUTIES // 2

HARDWARE_TOLERANCE_CYCLES = 71
"""One step of 64, and the simulator's own grain."""

SOFTWARE_TOLERANCE_CYCLES = 800
"""50 us, one part in a hundred of a tick: a change may wait for the decoding of one edge."""


def hardware_errors(run: ChipRun, output: int, light: int) -> NDArray[np.int64]:
    """How far each pulse is from the duties that it may have, in cycles; by its tick in the second
    row. A timer takes over a duty at the start of a turn, and its pulses end with a turn. The
    simulator may take one over a turn early: so the duties of the ticks beside count as well."""
    rises, falls = _pulses(run, output)
    begins = run.ticks["driven"].astype(np.int64)
    tick = np.searchsorted(begins, falls - TURN_CYCLES + 1) - 1
    duty = np.concatenate([[0], run.ticks["report"]["levels"][:, light].astype(np.int64)])
    beside = [duty[np.clip(tick + near, 0, len(duty) - 1)] for near in (0, 1, 2)]
    step = TURN_CYCLES // DUTIES
    made = falls - rises
    least, most = (np.asarray(of(beside, axis=0)) * step for of in (np.min, np.max))
    return np.stack([made - np.clip(made, least, most), np.maximum(tick, 0)])


def software_errors(run: ChipRun, output: int, light: int) -> NDArray[np.int64]:
    """The same for a light that the processor switches: for each tick, how far the shorter part of
    it, on or off, is from what was asked for. Ticks in which it goes from dark to bright or back
    are left out: the change falls into both."""
    done = run.ticks["done"].astype(np.int64)
    duty = run.ticks["report"]["levels"][:, light].astype(np.int64)[:-1]
    on = np.diff(_time_on(run, output, done))
    bright = duty >= HALF
    short = np.where(bright, np.diff(done) - on, on)
    steps = np.where(bright, DUTIES - duty, duty)
    asked = np.where(duty == DUTIES - 1, 0, steps) * STEP_CYCLES
    same = np.concatenate([[False], bright[1:] == bright[:-1]])[: len(duty)]
    return np.stack([short - asked, np.arange(len(duty))])[:, same]


def _pulses(run: ChipRun, output: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """When each pulse rose and fell."""
    edges = run.edges[run.edges["output"] == output]
    high = (edges["level"] == 1) & (edges["driven"] == 1)
    cycles = edges["cycle"].astype(np.int64)
    starts = np.flatnonzero(high[:-1] & ~high[1:])
    return cycles[starts], cycles[starts + 1]


def _time_on(run: ChipRun, output: int, at: NDArray[np.int64]) -> NDArray[np.int64]:
    """For how long the output had been on at each of these moments."""
    edges = run.edges[run.edges["output"] == output]
    high = ((edges["level"] == 1) & (edges["driven"] == 1)).astype(np.int64)
    cycles = edges["cycle"].astype(np.int64)
    if not len(cycles):
        return np.zeros(len(at), np.int64)
    whole = np.concatenate([[0], np.cumsum(np.diff(cycles) * high[:-1])])
    last = np.searchsorted(cycles, at, side="right") - 1
    since = np.where(last < 0, 0, (at - cycles[last]) * high[last])
    return np.asarray(np.where(last < 0, 0, whole[last]) + since)
