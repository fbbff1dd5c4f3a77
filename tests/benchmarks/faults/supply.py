"""Dips of the sensed battery. (Of a dip of its own supply the simulated chip knows no more than
that it is reset by it: see `restarts`.)"""

from __future__ import annotations

import numpy as np

from tests.benchmarks.faults.judge import Outcome, judge, phases
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import BATTERY, Move, Scene
from tests.benchmarks.faults.signal_lost import SCENES, observed, strikes

SHORT_TICKS = 8
"""A dip of so long is none, down to nothing at all: a battery's filter has 0.5 s."""

EVERY_TICKS = 192


def dips(scene: Scene, number: int, seed: int) -> Outcome:
    """Down to anything, for less or more than the stage waits; in every second run only short ones,
    which no line may notice."""
    draw = drawn("dips", number, seed)
    battery, good = scene.sensor(BATTERY), scene.good_battery()
    moves = scene.moves(seed * SCENES + number % SCENES)
    calm = scene.trace(moves, source=f"no dips {number % SCENES}")
    only_short = number % 2 == 0
    ticks = list(strikes(number, EVERY_TICKS))
    for tick in ticks:
        lasts = draw.choice((1, 3, 5, SHORT_TICKS))
        if not only_short:
            lasts = draw.choice((80, 99, 100, 101, 130))
        low = draw.choice((0, good // 2, good - 60))
        moves += [Move(tick, "feel", (battery,), low), Move(tick + lasts, "feel", (battery,), good)]
    outcome = Outcome(faults=len(ticks))
    run = observed(scene, scene.trace(moves, source=f"dips, run {number}, seed {seed}"), outcome)
    if run is None:
        return outcome
    life = judge(scene, run, outcome)[0]
    outcome.met |= phases(scene, life, iter(ticks))
    if only_short and np.any(scene.rung.lines(run) != scene.calm_lines(calm)):
        outcome.complain("a short dip of the battery has switched something")
    return outcome


KINDS = (Kind("dips of the battery", dips, EVERY_TICKS, 2, ("own pins",)),)
