"""What receivers do wrong: glitches, frozen values, slipped frames, and rounds of a shared channel
with a frame too few or too many; and noise on the pins themselves."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from gen.behaviours import Auto
from gen.plan import HALF_US_PER_US, OPEN
from host_tools.firmware.chip import EVENT
from host_tools.rows import as_rows
from host_tools.trace import Trace
from tests.benchmarks.faults.judge import CYCLES_A_MS, Outcome, judge, phases
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import BEGIN_TICKS, TICKS
from tests.benchmarks.faults.signal_lost import SCENES, observed, strikes
from tests.benchmarks.trouble import FROZEN_US

if TYPE_CHECKING:
    import random
    from collections.abc import Callable

    from numpy.typing import NDArray

    from host_tools.firmware.chip import ChipRun
    from tests.benchmarks.faults.scene import Scene

STRAY_TICKS = 90
"""From one stray frame to the next: the ship is itself again meanwhile."""

NEAR_TICKS = 130
"""A stray frame or round may make a press, and what follows from it, so much earlier or later: two
rounds of the shared channel, and as long once more for what waits for that."""

FROZEN_TICKS = 360
"""1.8 s (seen in logs of real receivers)."""

Pulses = list[tuple[int, int]]
"""Of one input: tick and width of each pulse."""

Spoil: TypeAlias = "Callable[[Scene, int, Pulses, int, random.Random], None]"
"""Spoils the pulse of an input that stands at an index."""


def pulses_of(trace: Trace, source: int) -> Pulses:
    """All pulses of one input."""
    rows = np.flatnonzero(trace.widths_half_us[:, source])
    return list(
        zip(trace.at[rows].tolist(), trace.widths_half_us[rows, source].tolist(), strict=True)
    )


def with_pulses(trace: Trace, every: list[Pulses], source: str) -> Trace:
    """The same trace with other pulses on all inputs."""
    at, inputs, widths = [], [], []
    for number, pulses in enumerate(every):
        for tick, width in sorted(pulses, key=lambda pulse: pulse[0]):
            if 0 <= tick < trace.ticks:
                at.append(tick)
                inputs.append(number)
                widths.append(min(max(width, 1), 0xFFFF))
    rows, table = as_rows(at, inputs, widths, len(every))
    bare = Trace(trace.ticks, trace.channels, rows, table, trace.ship, trace.plan_id, source)
    ticks, sensors, readings = trace.felt
    felt = zip(ticks.tolist(), sensors.tolist(), readings.tolist(), strict=True)
    return bare.with_readings(trace.sensors, felt)


def glitch(scene: Scene, source: int, pulses: Pulses, index: int, draw: random.Random) -> None:
    """One pulse is missing, wild, doubled, or says something else."""
    tick, width = pulses[index]
    (channel,) = scene.plan.inputs[source].channels
    bands = [
        (position.low_half_us + position.high_half_us) // 2
        for control in scene.plan.controls
        if control.channel == channel
        for position in control.positions
    ]
    wild = draw.choice((40, 700, 1_300, 4_700, 9_000, *bands))
    match draw.randrange(4):
        case 0:
            del pulses[index]
        case 1:
            pulses.insert(index, (tick, draw.choice((60, 300, 1_000))))
        case _:
            pulses[index] = tick, wild
    del width


def odd_round(scene: Scene, source: int, pulses: Pulses, index: int, draw: random.Random) -> None:
    """A frame of a shared channel is dropped, repeated, put in another's place, or silent; what
    follows comes a frame sooner or later."""
    del scene, source
    match draw.randrange(4):
        case 0:
            for at in range(index, len(pulses) - 1):
                pulses[at] = pulses[at][0], pulses[at + 1][1]
        case 1:
            for at in range(len(pulses) - 1, index, -1):
                pulses[at] = pulses[at][0], pulses[at - 1][1]
        case 2:
            before, here = pulses[index - 1], pulses[index]
            pulses[index - 1], pulses[index] = (before[0], here[1]), (here[0], before[1])
        case _:
            del pulses[index]


def slip(scene: Scene, source: int, pulses: Pulses, index: int, draw: random.Random) -> None:
    """A sum signal's edge is lost, or one comes where none belongs."""
    del scene, source
    tick, width = pulses[index]
    if draw.random() < 0.6:
        pulses[index : index + 2] = [(pulses[index + 1][0], width + pulses[index + 1][1])]
    else:
        part = draw.randrange(400, max(401, width - 400))
        pulses[index : index + 1] = [(tick, part), (tick, width - part)]


def _strays(
    scene: Scene, name: str, number: int, seed: int, which: tuple[list[int], Spoil]
) -> Outcome:
    """Single strays, far from one another: none may switch anything on that was not asked for."""
    draw = drawn(name, number, seed)
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES))
    every = [pulses_of(trace, source) for source in range(len(scene.plan.inputs))]
    inputs, spoil = which
    ticks = list(strikes(number, STRAY_TICKS))
    for tick in reversed(ticks):
        source = draw.choice(inputs)
        index = next(i for i, one in enumerate(every[source]) if one[0] >= tick)
        spoil(scene, source, every[source], index, draw)
    spoilt = with_pulses(trace, every, f"{name}, run {number}, seed {seed}")
    outcome = Outcome(faults=len(ticks))
    run = observed(scene, spoilt, outcome)
    if run is None:
        return outcome
    life = judge(scene, run, outcome)[0]
    outcome.met |= phases(scene, life, iter(ticks))
    _only_what_was_asked_for(scene, run, scene.calm_lines(trace), outcome)
    return outcome


def _only_what_was_asked_for(
    scene: Scene, run: ChipRun, wanted: NDArray[np.uint64], outcome: Outcome
) -> None:
    """What is on is on in the calm run too, about then; of functions that nothing but their keys
    has a say in. (A winch that lets go for one round makes way for another.)"""
    judged = sum(
        1 << line
        for function in scene.plan.functions
        if replace(function.gate, stage=None) == OPEN
        and not (function.conditions or isinstance(function, Auto))
        for line in function.lines
    )
    got = scene.rung.lines(run) & np.uint64(judged)
    near = np.zeros(len(wanted) + 2 * NEAR_TICKS, np.uint64)
    for shift in range(2 * NEAR_TICKS + 1):
        near[shift : shift + len(wanted)] |= wanted
    unasked = got & ~near[NEAR_TICKS : NEAR_TICKS + len(got)]
    if unasked.any():
        tick = int(np.flatnonzero(unasked)[0])
        names = [
            line.name
            for index, line in enumerate(scene.plan.lines)
            if int(unasked[tick]) >> index & 1
        ]
        outcome.complain(f"tick {tick}: {', '.join(names)} on, which nobody had asked for")


def glitches(scene: Scene, number: int, seed: int) -> Outcome:
    own = [
        index
        for index, one in enumerate(scene.plan.inputs)
        if scene.plan.channels[one.channels[0]].sharing is None
    ]
    return _strays(scene, "glitches", number, seed, (own, glitch))


def odd_rounds(scene: Scene, number: int, seed: int) -> Outcome:
    shared = [
        index
        for index, one in enumerate(scene.plan.inputs)
        if scene.plan.channels[one.channels[0]].sharing is not None
    ]
    return _strays(scene, "odd rounds", number, seed, (shared, odd_round))


def slips(scene: Scene, number: int, seed: int) -> Outcome:
    return _strays(scene, "slips", number, seed, ([len(scene.plan.inputs) - 1], slip))


def frozen(scene: Scene, number: int, seed: int) -> Outcome:
    """The receiver repeats its last frame, or odd values, for 1.8 s, then falls silent."""
    draw = drawn("frozen", number, seed)
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES))
    begin = BEGIN_TICKS + number % (TICKS - FROZEN_TICKS - 200)
    odd = bool(draw.randrange(2))
    every = []
    for source, one in enumerate(scene.plan.inputs):
        pulses = pulses_of(trace, source)
        every.append(
            _frozen_sum(scene, pulses, begin, odd) if one.is_sum
            else _frozen_pin(source, pulses, begin, odd)
        )  # fmt: skip
    outcome = Outcome(faults=1)
    run = observed(scene, with_pulses(trace, every, f"frozen, run {number}"), outcome)
    if run is not None:
        life = judge(scene, run, outcome)[0]
        outcome.met |= phases(scene, life, iter([begin]))
    return outcome


def _frozen_pin(source: int, pulses: Pulses, begin: int, odd: bool) -> Pulses:
    before = [width for tick, width in pulses if tick < begin]
    stands = FROZEN_US[source % len(FROZEN_US)] * HALF_US_PER_US if odd else before[-1]
    kept = [one for one in pulses if one[0] < begin or one[0] >= begin + FROZEN_TICKS + 100]
    return kept + [(tick, stands) for tick in range(begin, begin + FROZEN_TICKS, 4)]


def _frozen_sum(scene: Scene, pulses: Pulses, begin: int, odd: bool) -> Pulses:
    """Every place stands still; the gap takes up what that leaves."""
    described = scene.plan.sum_signal
    if described is None:
        raise ValueError("the ship has no sum signal")
    places = len(described.channels)
    last = [width for tick, width in pulses if tick < begin][-4 * places :]
    gap = next(i for i, width in enumerate(last) if width >= described.gap_half_us)
    stands = last[gap + 1 : gap + 1 + places]
    if odd:
        stands = [us * HALF_US_PER_US for us in FROZEN_US][:places]
    out: Pulses = []
    place, owed = -1, 0
    for tick, width in pulses:
        if width >= described.gap_half_us:
            place = 0
            out.append((tick, max(described.gap_half_us, min(0xFFFE, width + owed))))
            owed = 0
        elif 0 <= place < places and begin <= tick < begin + FROZEN_TICKS:
            out.append((tick, stands[place]))
            owed += width - stands[place]
            place += 1
        else:
            out.append((tick, width))
    return out


def noise(scene: Scene, number: int, seed: int) -> Outcome:
    """Spikes of 1 to 60 us on the pins, alone and in bursts, and edges faster than the chip can
    take them for 10 ms."""
    draw = drawn("noise", number, seed)
    trace = scene.trace(scene.moves(seed * SCENES + number % SCENES))
    events = scene.events(trace)
    spikes: dict[int, list[int]] = {}
    ticks = list(strikes(number, STRAY_TICKS))
    for tick in ticks:
        source = draw.randrange(len(scene.plan.inputs))
        at = scene.at_tick(tick) + draw.randrange(80_000)
        mine = spikes.setdefault(source, [])
        if draw.random() < 0.15:
            mine += range(at, at + 10 * CYCLES_A_MS, draw.choice((30, 100, 320)))
            continue
        for _ in range(draw.choice((1, 1, 2, 5, 30))):
            lasts = draw.choice((16, 50, 200, 960))
            mine += [at, at + lasts]
            at += lasts + draw.randrange(16, 16 * 3_000)
    outcome = Outcome(faults=len(ticks))
    run = scene.run(_with_spikes(events, spikes))
    if run.resets:
        outcome.complain("noise on the pins reset the chip")
    if not run.ticks["report"]["count"][-STRAY_TICKS // 2 :].any():
        outcome.complain("noise on the pins has left the chip deaf")
    life = judge(scene, run, outcome)[0]
    outcome.met |= phases(scene, life, iter(ticks))
    return outcome


def _with_spikes(events: NDArray[np.void], spikes: dict[int, list[int]]) -> NDArray[np.void]:
    """Each spike turns its input's level over, and back."""
    parts = [events[~np.isin(events["input"], list(spikes))]]
    for source, cycles in spikes.items():
        mine = events[events["input"] == source]
        level = np.append([0], mine["level"])
        turns = mine["cycle"][level[1:] != level[:-1]]
        whole = np.sort(np.concatenate([turns.astype(np.int64), np.array(cycles, np.int64)]))
        part = np.zeros(len(whole), EVENT)
        part["cycle"], part["input"] = whole, source
        part["level"] = (np.arange(len(whole)) + 1) % 2
        parts.append(part)
    both = np.concatenate(parts)
    return both[np.argsort(both["cycle"], kind="stable")]


KINDS = (
    Kind("glitches", glitches, STRAY_TICKS * SCENES, 1, ("own pins",)),
    Kind("odd rounds of a shared channel", odd_rounds, STRAY_TICKS * SCENES, 1, ("own pins",)),
    Kind("slipped frames", slips, STRAY_TICKS * SCENES, 1, ("sum signal",)),
    Kind("frozen values", frozen, 300, 1),
    Kind("noise on the pins", noise, STRAY_TICKS * 2, 1),
)
