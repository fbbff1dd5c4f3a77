"""Twenty-four hours of mixed work: every starter on its board, and both trial ships, a minute at a
time, with random thumbs that look for trouble; every second minute with resets, hangs and cuts."""

from __future__ import annotations

import numpy as np

from host_tools.firmware.chip import BROWN_OUT, EXTERNAL, HANG, POWER, RESET, TORN
from host_tools.kept import eeprom_with
from host_tools.thumbs import random_trace
from tests.benchmarks.faults.judge import CYCLES_A_TICK, Outcome, judge
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.restarts import MOST_HANG_MS
from tests.benchmarks.faults.scene import STARTERS, Scene
from tests.benchmarks.faults.ships import RECEIVERS
from tests.benchmarks.faults.signal_lost import observed
from tests.firmware.link_lines import at

MINUTE_TICKS = 12_000
HOURS = 24
SHIPS = (*(path.stem for path in sorted(STARTERS.glob("*.yaml"))), *RECEIVERS)


def minute(scene: Scene, number: int, seed: int) -> Outcome:
    draw = drawn(f"minute {scene.receiver}", number, seed)
    trace = random_trace(scene.plan, MINUTE_TICKS, draw.getrandbits(32)).without_forces()
    outcome = Outcome()
    if number % 2 == 0:
        run = observed(scene, trace, outcome)
        if run is not None:
            judge(scene, run, outcome, eeprom_with(scene.plan, scene.board, trace.kept))
        return outcome
    eeprom = eeprom_with(scene.plan, scene.board, trace.kept)
    faults = [
        (
            scene.at_tick(draw.randrange(20, MINUTE_TICKS), eeprom) + draw.randrange(CYCLES_A_TICK),
            *draw.choice(
                ((RESET, EXTERNAL), (RESET, BROWN_OUT), (RESET, POWER), (HANG, 0), (HANG, 1))
            ),
            0,
        )
        for _ in range(draw.randrange(1, 8))
    ]
    noise = [at(scene.at_tick(500 + 1_000 * i, eeprom), draw.randbytes(200)) for i in range(11)]
    outcome.faults = len(faults) + len(noise)
    run = scene.run(
        scene.events(trace, eeprom),
        ticks=MINUTE_TICKS,
        eeprom=eeprom,
        heard=np.concatenate(noise),
        faults=faults,
        torn=draw.choice(TORN),
    )
    judge(scene, run, outcome, eeprom, hang_ms=MOST_HANG_MS)
    return outcome


KINDS = (Kind("mixed work, by the minute", minute, HOURS * 60 // len(SHIPS), 0, SHIPS),)
