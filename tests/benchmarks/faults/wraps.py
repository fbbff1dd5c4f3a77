"""Counters just before their wrap, or their end: ticks, seconds, lines, starts, losses, noise; and
edges just where the timer begins its turn anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.chip import EVENT, EXTERNAL, POKE, RESET, read_program
from tests.benchmarks.faults.judge import Outcome, judge
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.signal_lost import SCENES
from tests.firmware.link_lines import at, tallies_of, words_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.benchmarks.faults.scene import Scene

CYCLES_A_MS = 16_000


@dataclass(frozen=True)
class Counter:
    """A variable of the sketch as its linker names it, where in it the counter is, how many bytes
    it has; and what it is set to: so much before its wrap (or its end, at which it stays)."""

    name: str
    symbol: str
    offset: int
    bytes: int
    before: int


COUNTERS = (
    Counter("ticks told over the link", "report", 0, 2, 100),
    Counter("ticks since the start", "_ZN5board6timingE", 0, 4, 100),
    Counter("ticks that were late", "_ZN5board6timingE", 6, 2, 1),
    Counter("changes that the ring had no room for", "_ZN9pulses_in6lossesE", 0, 2, 1),
    Counter("pulses that the report had no room for", "_ZN9pulses_in6lossesE", 2, 2, 1),
    Counter("bad lines of the host's", "_ZN4linkL9bad_linesE", 0, 2, 2),
    Counter("number of the newest record", "_ZN6keeperL6newestE", 0, 2, 2),
    Counter("debt of the keeper", "_ZN6keeperL10debt_ticksE", 0, 2, 0xFFFF - 790),
)

EARLY_CYCLES = CYCLES_A_MS
"""Before the first tick, when all variables have their first values."""


def counters(scene: Scene, number: int, seed: int) -> Outcome:
    """All of them at once, a little before their wrap, with noise on pins and line, and a reset."""
    draw = drawn("counters", number, seed)
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES))
    begin = scene.at_tick(0) - EARLY_CYCLES
    faults = []
    for counter in COUNTERS:
        address = read_program(scene.rung.elf, counter.symbol).report + counter.offset
        before = max(0, counter.before - draw.randrange(2))
        value = (1 << 8 * counter.bytes) - 1 - before
        faults += [
            (begin + 16 * place, POKE, value >> 8 * place & 0xFF, address + place)
            for place in range(counter.bytes)
        ]
    wave = _wave(scene, draw.randrange(1_000))
    faults.append((scene.at_tick(900), RESET, EXTERNAL, 0))
    events = scene.events(trace)
    quiet = (events["cycle"] < wave["cycle"][0]) | (events["cycle"] > wave["cycle"][-1])
    events = np.concatenate([events[quiet | (events["input"] != 0)], wave])
    events = events[np.argsort(events["cycle"], kind="stable")]
    heard = at(scene.at_tick(300), draw.randbytes(100) + b"\n" * 5 + b"x\ny\nz\n" * 10)
    run = scene.run(events, faults=faults, heard=heard)
    outcome = Outcome(faults=len(COUNTERS))
    first, _ = judge(scene, run, outcome)
    told = first.run.ticks["report"]["tick"].astype(np.int64)
    if np.any(np.diff(told) % 0x10000 != 1) or told[-1] > told[0]:
        outcome.complain("ticks were told out of their order where their count wraps")
    words = words_of(run.said[run.said["cycle"] < run.resets[0]])
    tallies = tallies_of(words)
    for name in ("bad", "overflows", "pulses"):
        values = [one[name] for one in tallies if name in one]
        if values and (max(values) > 0xFFFF or values != sorted(values)):
            outcome.complain(f"the count of {name} falls: {values}")
    return outcome


def _wave(scene: Scene, phase: int) -> NDArray[np.void]:
    """Edges faster than the chip can take them, on the first input, for 0.1 s."""
    cycles = np.arange(scene.at_tick(400) + phase, scene.at_tick(420), 30)
    cycles = cycles[: len(cycles) // 2 * 2]
    wave = np.zeros(len(cycles), EVENT)
    wave["cycle"] = cycles
    wave["level"] = 1 - np.arange(len(cycles)) % 2
    return wave


def turns(scene: Scene, number: int, seed: int) -> Outcome:
    """Pulses that begin, or end, within 20 us of where the timer turns, at every quarter of a
    microsecond; each is measured as well as any other."""
    del seed
    width = 1_500 * 16
    ends_there = number % 2 == 1
    count = 160
    turn = scene.at_tick(3) + np.arange(1, count + 1) * 4 * 80_000
    offsets = (np.arange(count) - count // 2) * 4 - 150  # a tick samples some 10 us behind its time
    begins = turn + offsets - (width if ends_there else 0)
    events = np.zeros(2 * count, EVENT)
    events["cycle"] = np.sort(np.concatenate([begins, begins + width]))
    events["level"] = 1 - np.arange(2 * count) % 2
    ticks = 4 * (count + 3)
    run = scene.run(events, ticks=ticks)
    outcome = Outcome(faults=count)
    judge(scene, run, outcome)
    reports = run.ticks["report"]
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    widths = reports["pulses"][taken]["width"].astype(np.int64)
    if len(widths) != count or np.abs(widths - 3_000).max(initial=0) > 9:
        outcome.complain(f"{len(widths)} of {count} pulses, {widths.min()} to {widths.max()}")
    return outcome


KINDS = (
    Kind("counters before their wrap", counters, 40, 1, ("own pins",)),
    Kind("edges where the timer turns", turns, 2, 2, ("own pins",)),
)
