"""Loss and return of the signal, at every phase of every behaviour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware import FirmwareFault
from tests.benchmarks.faults.judge import (
    CYCLES_A_MS,
    CYCLES_A_TICK,
    LOSS,
    SLACK_MS,
    Outcome,
    judge,
    lines_off_when_lost,
    phases,
    spells,
)
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import BEGIN_TICKS, TICKS, Move

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours.base import Function
    from host_tools.firmware.chip import ChipRun
    from host_tools.firmware.pulses import Driven
    from host_tools.trace import Trace
    from tests.benchmarks.faults.scene import Scene

EVERY_TICKS = 160
"""From one fault of a run to the next. So many runs, each a tick later, meet every tick."""

SCENES = 4
"""Different thumbs."""


def strikes(number: int, every_ticks: int = EVERY_TICKS) -> range:
    """The ticks of one run's faults."""
    return range(BEGIN_TICKS + number % every_ticks, TICKS - every_ticks // 2, every_ticks)


def all_lost(scene: Scene, number: int, seed: int) -> Outcome:
    """The transmitter is switched off, for shorter and longer than the channels bear."""
    every = range(len(scene.plan.channels))
    return _lost(scene, "all lost", number, seed, [tuple(every)])


def one_lost(scene: Scene, number: int, seed: int) -> Outcome:
    """One plug comes off."""
    return _lost(
        scene, "one lost", number, seed, [(index,) for index in range(len(scene.plan.channels))]
    )


def _lost(
    scene: Scene, name: str, number: int, seed: int, plugs: Sequence[tuple[int, ...]]
) -> Outcome:
    draw = drawn(name, number, seed)
    bears = max(channel.lost_after_ticks for channel in scene.plan.channels)
    moves = scene.moves(seed * SCENES + number % SCENES)
    spans = []
    for tick in strikes(number):
        lasts = draw.choice((8, bears - 1, bears, bears + 1, bears + 2, bears + 40))
        plug = draw.choice(plugs)
        moves += [Move(tick, "lose", plug), Move(tick + lasts, "restore", plug)]
        spans.append((tick, tick + lasts, plug))
    trace = scene.trace(moves, source=f"{name}, run {number}, seed {seed}")
    outcome = Outcome(faults=len(spans))
    run = observed(scene, trace, outcome)
    if run is None:
        return outcome
    (life,) = judge(scene, run, outcome)[:1]
    outcome.met |= phases(scene, life, iter(tick for tick, _, _ in spans))
    driven = scene.driven(trace)
    for loss in spans:
        _is_off(scene, driven, run, loss, outcome)
    return outcome


def observed(scene: Scene, trace: Trace, outcome: Outcome) -> ChipRun | None:
    """Runs a trace that no reset cuts short; what the rung itself finds wrong is complained of."""
    try:
        return scene.rung.observe(trace)[1]
    except FirmwareFault as fault:
        outcome.complain(str(fault))
        return None


def _is_off(
    scene: Scene,
    driven: Driven,
    run: ChipRun,
    loss: tuple[int, int, tuple[int, ...]],
    outcome: Outcome,
) -> None:
    """By the pins: whatever the loss switches off is off so long after the last good pulse, and
    until the signal is back."""
    begin, end, plug = loss
    back = scene.at_tick(end - 1)
    off_when_lost = set(lines_off_when_lost(scene))
    for function in scene.plan.functions:
        if not off_when_lost.issuperset(function.lines) or not function.lines:
            continue
        hears = [scene.plan.controls[control].channel for control in function.controls]
        if not set(plug).intersection(hears):
            continue
        last = min(_last_good(scene, driven, index, begin) for index in hears if index in plug)
        bears = max(scene.plan.channels[index].lost_after_ticks for index in hears)
        deadline = last + (bears + 1) * CYCLES_A_TICK + round(SLACK_MS * CYCLES_A_MS)
        _off_by(scene, run, function, (last, deadline, back), outcome)


def _off_by(
    scene: Scene,
    run: ChipRun,
    function: Function,
    times: tuple[int, int, int],
    outcome: Outcome,
) -> None:
    last, deadline, back = times
    for line in function.lines:
        for begin, end in spells(scene, run, line):
            if last < end <= deadline and begin < end and back > deadline:
                outcome.took(LOSS, end - last)
            if max(begin, deadline) < min(end, back):
                outcome.complain(f"{function.name} is on without a signal")


def _last_good(scene: Scene, driven: Driven, channel: int, tick: int) -> int:
    """The end of a channel's last pulse before a tick that is a sign of life (cycle)."""
    source = next(i for i, one in enumerate(scene.plan.inputs) if channel in one.channels)
    good = driven.width_half_us >= scene.plan.channels[channel].lost_below_half_us
    if scene.plan.inputs[source].is_sum:
        good = np.ones_like(good)
    mine = (driven.input == source) & good & (driven.end < scene.at_tick(tick))
    return int(driven.end[mine].max(initial=0))


KINDS = (
    Kind("loss and return of the signal", all_lost, EVERY_TICKS * SCENES, 2),
    Kind("loss and return of one channel", one_lost, EVERY_TICKS * SCENES, 1, ("own pins",)),
)
