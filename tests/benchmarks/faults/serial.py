"""The serial line flooded: by noise, by valid lines, by lines without an end, for as long as the
ship is at work; and a host that forces something and falls silent."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware import FirmwareFault
from tests.benchmarks.faults.judge import (
    CYCLES_A_MS,
    CYCLES_A_TICK,
    SILENT,
    SLACK_MS,
    Outcome,
    judge,
    spells,
)
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import TICKS
from tests.benchmarks.faults.signal_lost import SCENES
from tests.firmware.link_lines import BYTE_CYCLES, at, line, words_of

if TYPE_CHECKING:
    import random

    from tests.benchmarks.faults.scene import Scene

BURST_TICKS = 60
MOST_SILENT_MS = 310
"""60 ticks of silence, and the one that notices it."""


def _flood(scene: Scene, draw: random.Random, kind: int, count: int) -> bytes:
    """So many bytes at least."""
    functions = len(scene.plan.functions)
    data, number = b"", draw.randrange(256)
    while len(data) < count:
        match kind:
            case 0:
                data += draw.randbytes(200)
            case 1:
                data += line(number, draw.choice(("here", "who", "bench on", "free", "p a1500 A7")))
                number += 1
            case 2:
                data += line(draw.randrange(256), "here")
            case 3:
                words = (f"force {draw.randrange(functions)} 1", f"arm {draw.randrange(functions)}")
                data += line(number, draw.choice((*words, "restart", "restart forget")))
                number += 1
            case 4:
                data += b"\n" * 100 + b"\r\n" * 50
            case _:
                data += bytes([draw.choice(b"0123456789ABCDEF ")]) * 300
    return data


def floods(scene: Scene, number: int, seed: int) -> Outcome:
    """At the line's full rate, one kind of flood after another, without the bench's jumper: the
    ship does what it does in silence, tick by tick, and every line that it tells is whole."""
    draw = drawn("floods", number, seed)
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES), source=f"{number % SCENES}")
    bursts = (TICKS - 80) // BURST_TICKS
    each = BURST_TICKS * CYCLES_A_TICK // BYTE_CYCLES
    data = b"".join(_flood(scene, draw, draw.randrange(6), each)[:each] for _ in range(bursts))
    heard = at(scene.at_tick(40) + draw.randrange(CYCLES_A_TICK), data)
    outcome = Outcome(faults=bursts)
    try:
        record, run = scene.rung.observe(trace, heard)
    except FirmwareFault as fault:
        outcome.complain(str(fault))
        return outcome
    judge(scene, run, outcome)
    if np.any(record.lines != scene.calm_lines(trace)):
        tick = int(np.flatnonzero(record.lines != scene.calm_lines(trace))[0])
        outcome.complain(f"tick {tick}: the flood has switched something")
    if run.ticks["report"]["force"].any():
        outcome.complain("something was forced without the jumper")
    try:
        words_of(run.said)
    except AssertionError as broken:
        outcome.complain(f"a line was told that is not whole: {broken}")
    return outcome


def silent_host(scene: Scene, number: int, seed: int) -> Outcome:
    """A horn is forced, and the cable comes off at any moment behind that."""
    draw = drawn("silent host", number, seed)
    index = scene.function("horn")
    (horn,) = scene.plan.functions[index].lines
    words = [f"arm {index}", f"force {index} 1", *["here"] * draw.randrange(8)]
    begin = scene.at_tick(60) + number * CYCLES_A_TICK // 16
    parts = [at(begin + 20 * i * CYCLES_A_TICK, line(i, one)) for i, one in enumerate(words)]
    heard = np.concatenate(parts)
    cut = int(heard["cycle"][-1])
    run = scene.run(scene.events(scene.trace([], 400)), ticks=400, heard=heard, jumper=True)
    outcome = Outcome(faults=1)
    judge(scene, run, outcome)
    found = spells(scene, run, horn)
    if len(found) != 1:
        outcome.complain(f"the horn was forced on {len(found)} times, not once")
        return outcome
    outcome.took(SILENT, found[0][1] - cut)
    if found[0][1] - cut > (MOST_SILENT_MS + SLACK_MS) * CYCLES_A_MS:
        outcome.complain("a force outlives its host")
    return outcome


KINDS = (
    Kind("serial line flooded", floods, 40, 1),
    Kind("host falls silent", silent_host, 64, 2, ("own pins",)),
)
