"""Switches that stick or bounce: the end switch of a winch, the bench's jumper."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Winch
from gen.plan import DigitalSensor, Felt
from host_tools.firmware.chip import EVENT, read_program, run_chip
from host_tools.firmware.rung import report_layout
from host_tools.firmware.sensors import in_order
from tests.benchmarks.faults.judge import (
    CYCLES_A_MS,
    CYCLES_A_TICK,
    SLACK_MS,
    SWITCH,
    Outcome,
    judge,
    phases,
    spells,
)
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import ANCHOR_HOME, TICKS, Move
from tests.benchmarks.faults.signal_lost import SCENES
from tests.firmware.link_lines import at, line, together, words_of

if TYPE_CHECKING:
    import random

    from numpy.typing import NDArray

    from host_tools.firmware.chip import ChipRun
    from tests.benchmarks.faults.scene import Scene

RUN_TICKS = 200
"""So long is a whole run of the anchor: its switch closes in every tick of it."""


def _without_switch(scene: Scene, number: int, seed: int) -> list[Move]:
    home = scene.sensor(ANCHOR_HOME)
    moves = scene.moves(seed * SCENES + number % SCENES)
    return [one for one in moves if one.what != "feel" or one.which != (home,)]


def _heave(scene: Scene) -> int:
    """The anchor's line that heaves, whose end has the switch."""
    winch = scene.plan.functions[scene.function("anchor")]
    if not isinstance(winch, Winch):
        raise TypeError("the anchor is no winch")
    way = next(way for way in (0, 1) if isinstance(winch.ends[way], Felt))
    return winch.pair_lines[way]


def end_switch(scene: Scene, number: int, seed: int) -> Outcome:
    """It closes while the anchor heaves, in every tick of a run, and bounces up to 40 ms; or it has
    stuck, open or closed."""
    draw = drawn("end switch", number, seed)
    trace = scene.trace(_without_switch(scene, number, seed), source=f"no switch {number % SCENES}")
    heave = _heave(scene)
    lines = scene.calm_lines(trace)
    on = (lines >> np.uint64(heave) & np.uint64(1)).astype(np.int8)
    begins = np.flatnonzero(np.diff(on, prepend=0) == 1)
    closes = [int(tick) + number % RUN_TICKS for tick in begins[:3]]
    stuck = number % 10 == 9
    levels = _bounces(scene, draw, closes, stuck=stuck)
    run = scene.run(in_order(scene.events(trace), levels))
    outcome = Outcome(faults=max(1, len(closes)))
    (life,) = judge(scene, run, outcome)
    outcome.met |= phases(scene, life, iter(closes))
    sensor = scene.plan.sensors[scene.sensor(ANCHOR_HOME)]
    if not stuck and isinstance(sensor, DigitalSensor):
        _stops(scene, run, levels, sensor.debounce_ticks, outcome)
    return outcome


def _bounces(
    scene: Scene, draw: random.Random, closes: list[int], *, stuck: bool
) -> NDArray[np.void]:
    """The switch's edges: it closes with bounces in each of these ticks and opens 0.7 s later."""
    open_, closed = 1, 0  # it pulls its pin down
    edges: list[tuple[int, int]] = [(1, draw.choice((open_, closed)) if stuck else open_)]
    for tick in [] if stuck else closes:
        now = scene.at_tick(tick) + draw.randrange(CYCLES_A_TICK)
        until = now + draw.choice((0, 2, 10, 40)) * CYCLES_A_MS
        level = closed
        while now < until:
            edges.append((now, level))
            level = open_ + closed - level
            now += draw.randrange(CYCLES_A_MS // 10, 3 * CYCLES_A_MS)
        edges += [(now, closed), (now + 700 * CYCLES_A_MS, open_)]
    table = np.zeros(len(edges), EVENT)
    table["cycle"], table["level"] = zip(*edges, strict=True)
    table["input"] = len(scene.plan.inputs)
    return table[np.argsort(table["cycle"], kind="stable")]


def _stops(
    scene: Scene,
    run: ChipRun,
    levels: NDArray[np.void],
    debounce_ticks: int,
    outcome: Outcome,
) -> None:
    """From the last bounce on it is closed; then the motor stops."""
    most = (debounce_ticks + 1) * CYCLES_A_TICK + SLACK_MS * CYCLES_A_MS
    steady = [
        (int(this["cycle"]), int(then["cycle"]))
        for this, then in itertools.pairwise(levels)
        if this["level"] == 0 and int(then["cycle"]) - int(this["cycle"]) > 2 * most
    ]
    for closed, opens in steady:
        for begin, end in spells(scene, run, _heave(scene)):
            if begin < closed < end:
                outcome.took(SWITCH, end - closed)
            if max(begin, closed + most) < min(end, opens):
                outcome.complain("the anchor heaves although its end switch is closed")


def jumper(scene: Scene, number: int, seed: int) -> Outcome:
    """The bench's jumper is not there at power-up; later it is put on, falls off and bounces, while
    a computer asks for forces. None is obeyed."""
    draw = drawn("jumper", number, seed)
    plan, rung = scene.plan, scene.rung
    if plan.bench is None:
        raise ValueError("the ship has no bench")
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES))
    events = scene.events(trace)
    place = len(plan.inputs) + 1  # behind the only contact
    events["input"][events["input"] >= place] += 1
    edges = [(1, 1)]
    now = scene.at_tick(20)
    while now < scene.at_tick(TICKS):
        edges.append((now, 1 - edges[-1][1]))
        now += draw.choice((CYCLES_A_MS // 5, 3 * CYCLES_A_MS, 900 * CYCLES_A_MS))
    table = np.zeros(len(edges), EVENT)
    table["cycle"], table["level"] = zip(*edges, strict=True)
    table["input"] = place
    words = [
        "bench on",
        "p a1500",
        *(f"{word} {i}" for i in range(9) for word in ("arm", "force 1")),
    ]
    heard = together(
        *(at(scene.at_tick(40 + 50 * i), line(i, text)) for i, text in enumerate(words))
    )
    pins = rung.pins()
    run = run_chip(
        read_program(rung.elf),
        rung.board,
        ticks=TICKS,
        cycles=scene.at_tick(TICKS + 20),
        report=report_layout(plan),
        events=in_order(events, table),
        inputs=pins["inputs"],
        contacts=[*pins["contacts"], plan.bench.jumper],
        analogue=pins["analogue"],
        chains=pins["chains"],
        outputs=rung.watched_pins,
        heard=heard,
    )
    outcome = Outcome(faults=len(edges) - 1)
    judge(scene, run, outcome)
    if run.ticks["report"]["force"].any():
        outcome.complain("something was forced without the jumper")
    if any(one.startswith("ok") for one in words_of(run.said)):
        outcome.complain("an order was obeyed without the jumper")
    return outcome


KINDS = (
    Kind("end switch stuck or bouncing", end_switch, RUN_TICKS, 3, ("own pins",)),
    Kind("jumper bouncing", jumper, 20, 1, ("own pins",)),
)
