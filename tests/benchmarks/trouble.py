"""Hours of a receiver in trouble, synthetic, and whether the ship stays what its owner asked for.

What goes wrong was seen in logs of real receivers, how often is a guess, marked so: 8 % of the sum
signal's frames have slipped, 5 % of a shared channel's cycles have a frame repeated or dropped, a
switch that is thrown shows one value in between, single pulses are missing, nothing comes for the
first second, and `LOSSES_PER_HOUR` times the signal goes, half of the times with values that
freeze for 1.8 s first. Noise, ends and centres are those of a fair receiver (0.5 us; 991, 1503 and
2016 us).

The same thumbs are given to the ship twice, once without the trouble. Each change of a line that
they lead to must be there both times, and no other.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Momentary, Pulse, Toggle
from gen.plan import HALF_US_PER_US, NOTHING_THERE
from gen.response import FRAME_TICKS, press_ticks, release_ticks
from host_tools.model import Model
from host_tools.rows import as_rows
from host_tools.trace import Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.plan import Control, Plan

FRAMES_PER_S = 50
FRAME_HALF_US = 40_000
TICK_HALF_US = 10_000
SILENCE_HALF_US = 0xFFFF
ENDS_AND_CENTRE_US = (991, 1503, 2016)
NOISE_US = 0.5

SLIPPED = 0.08
SPOILT_CYCLES = 0.05
MISSING = 0.01
LOSSES_PER_HOUR = 12
FROZEN_US = (755, 754, 548, 750, 793, 556, 1009, 754)
FROZEN_FRAMES = int(1.8 * FRAMES_PER_S)
SILENT_FRAMES = 3 * FRAMES_PER_S
QUIET_FRAMES = 3 * FRAMES_PER_S
"""No thumb moves so long before and after a loss: what a press leads to just then is not said."""


@dataclass(frozen=True)
class Verdict:
    """Of so many changes of lines that were asked for: how many were missing or not asked for; of
    so many presses and releases, the most ticks by which one was answered later than stated
    (negative: sooner). Each bad cycle, or frame, in the meantime allows for one
    more."""

    changes: int
    wrong: int
    presses: int
    late_ticks: int


def tried(plan: Plan, hours: float, seed: int) -> Verdict:
    """One run from power-up, with trouble and without."""
    thumbs = _Thumbs(plan, int(hours * 3600 * FRAMES_PER_S), seed)
    clean, _ = _received(thumbs, trouble=False)
    spoilt, bad = _received(thumbs, trouble=True)
    calm, tried_lines = (Model(plan).run(one, digests=False).lines for one in (clean, spoilt))
    changes = wrong = 0
    for line in range(len(plan.lines)):
        wanted, got = len(changes_of(calm, line)), len(changes_of(tried_lines, line))
        changes += wanted
        wrong += abs(wanted - got)  # they alternate, so that equal numbers are the same changes
    late = _late_ticks(thumbs, tried_lines, bad)
    return Verdict(changes, wrong, len(late), int(late.max(initial=-(2**31))))


def changes_of(lines: NDArray[np.uint64], line: int) -> NDArray[np.int64]:
    """The ticks in which a line goes on or off."""
    on = (lines >> np.uint64(line) & np.uint64(1)).astype(np.int8)
    return np.flatnonzero(np.diff(on, prepend=0))


def _late_ticks(
    thumbs: _Thumbs, lines: NDArray[np.uint64], bad_of: dict[int, NDArray[np.int64]]
) -> NDArray[np.int64]:
    """For each press, and each release of something held: how much later than stated it was
    answered."""
    plan = thumbs.plan
    late = [np.zeros(0, np.int64)]
    for function in plan.functions:
        if not isinstance(function, Toggle | Momentary | Pulse):
            continue
        control = plan.controls[function.ask.control]
        asks = thumbs.courses[function.ask.control] == _width(control, function.ask.position)
        moves = np.flatnonzero(np.diff(asks.astype(np.int8))) + 1
        if not isinstance(function, Momentary):
            moves = _after_a_rest(thumbs.courses[function.ask.control], moves[asks[moves]], control)
        stated = np.where(asks[moves], press_ticks(plan, control), release_ticks(plan, control))
        changes = changes_of(lines, function.drives)
        place = np.searchsorted(changes, moves * FRAME_TICKS)
        answers = changes[place[place < len(changes)]]
        begins, stated = moves[: len(answers)] * FRAME_TICKS, stated[: len(answers)]
        ends = bad_of[control.channel]
        bad = np.searchsorted(ends, answers, "right") - np.searchsorted(ends, begins)
        sharing = plan.channels[control.channel].sharing
        cycle = ((sharing.cycle_frames if sharing is not None else 0) + 1) * FRAME_TICKS
        late.append(answers - begins - stated - bad * cycle)
    return np.concatenate(late)


def _after_a_rest(
    course: NDArray[np.int64], presses: NDArray[np.int64], control: Control
) -> NDArray[np.int64]:
    """Those presses before which the control has been at rest since the one before."""
    rests = np.cumsum(course == _width(control, control.rest))[presses]
    return presses[np.diff(rests, prepend=0) > 0]


class _Thumbs:
    """Where every control is, frame by frame (half us), and when the signal is lost."""

    def __init__(self, plan: Plan, frames: int, seed: int) -> None:
        self.plan = plan
        self.frames = frames
        self.seed = seed
        draw = np.random.default_rng(seed)
        count = max(1, round(frames / FRAMES_PER_S / 3600 * LOSSES_PER_HOUR))
        room = frames // count
        self.losses = [
            (i * room + int(draw.integers(room // 2, room * 3 // 4)), bool(draw.integers(2)))
            for i in range(count)
        ]
        self.courses = [self._course(control, draw) for control in plan.controls]

    def _course(self, control: Control, draw: np.random.Generator) -> NDArray[np.int64]:
        course = np.full(self.frames, _width(control, control.rest))
        others = [i for i in range(len(control.positions)) if i != control.rest]
        at = int(draw.integers(4, 8) * FRAMES_PER_S)
        turn = 0
        while others and at < self.frames - 10 * FRAMES_PER_S:
            held = int(draw.uniform(2.4, 2.8) * FRAMES_PER_S)
            if not self._near_a_loss(at, at + held):
                course[at : at + held] = _width(control, others[turn % len(others)])
                turn += 1
            straight_on = draw.random() < 0.3  # thrown from end to end, without a stop at rest
            at += held + (0 if straight_on else int(draw.uniform(2.5, 8) * FRAMES_PER_S))
        return course

    def _near_a_loss(self, start: int, end: int) -> bool:
        lasts = FROZEN_FRAMES + SILENT_FRAMES + QUIET_FRAMES
        return any(start < at + lasts and end > at - QUIET_FRAMES for at, _ in self.losses)


def _width(control: Control, position: int) -> int:
    band = control.positions[position]
    for us in ENDS_AND_CENTRE_US:
        if band.low_half_us < us * HALF_US_PER_US < band.high_half_us:
            return us * HALF_US_PER_US
    return (band.low_half_us + band.high_half_us) // 2


def _received(thumbs: _Thumbs, *, trouble: bool) -> tuple[Trace, dict[int, NDArray[np.int64]]]:
    """The trace, and for each channel the ticks in which a spoilt frame or cycle ended."""
    plan = thumbs.plan
    draw = np.random.default_rng(thumbs.seed + 1)
    parts = []
    bad_of: dict[int, NDArray[np.int64]] = {}
    for number, one in enumerate(plan.inputs):
        if one.is_sum:
            at, widths, bad = _sum_signal(thumbs, draw, trouble=trouble)
        else:
            at, widths, bad = _own_pin(thumbs, one.channels[0], draw, trouble=trouble)
        bad_of |= dict.fromkeys(one.channels, bad)
        parts.append((at, np.full(len(at), number), widths))
    at, inputs, widths = (np.concatenate(column) for column in zip(*parts, strict=True))
    ticks = thumbs.frames * FRAME_TICKS
    rows, table = as_rows(at, inputs, widths, len(plan.inputs))
    names = tuple(one.name for one in plan.inputs)
    source = f"synthetic {'trouble' if trouble else 'calm'}, seed {thumbs.seed}"
    trace = Trace(ticks, names, rows, table, plan.ship, plan.plan_id, source)
    return trace, bad_of


def _said(
    thumbs: _Thumbs, channel: int, slot: int, draw: np.random.Generator, *, trouble: bool
) -> NDArray[np.int64]:
    """What a channel or slot says at every frame, noise and all."""
    course = np.full(thumbs.frames, ENDS_AND_CENTRE_US[1] * HALF_US_PER_US)
    for control, own in zip(thumbs.plan.controls, thumbs.courses, strict=True):
        if (control.channel, control.slot) == (channel, slot):
            course = own.copy()
    if not trouble:
        return course
    thrown = np.flatnonzero(np.diff(course)) + 1
    course[thrown] = (course[thrown] + course[thrown - 1]) // 2
    noise = draw.normal(0, NOISE_US * HALF_US_PER_US, len(course))
    return course + np.rint(noise).astype(np.int64)


def _own_pin(
    thumbs: _Thumbs, channel: int, draw: np.random.Generator, *, trouble: bool
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    sharing = thumbs.plan.channels[channel].sharing
    frames = np.arange(thumbs.frames)
    if sharing is None:
        widths = _said(thumbs, channel, 0, draw, trouble=trouble)
        missing = draw.random(thumbs.frames) < (MISSING if trouble else 0)
        heard = _without_losses(thumbs, frames, np.where(missing, 0, widths), trouble=trouble)
        return *heard, np.flatnonzero(missing) * FRAME_TICKS
    cycles = thumbs.frames // (sharing.cycle_frames - 1) + 2
    places = np.tile(np.arange(sharing.cycle_frames), (cycles, 1))
    kept = np.ones_like(places)
    bad = draw.random(cycles) < (SPOILT_CYCLES if trouble else 0)
    where = draw.integers(1, sharing.cycle_frames, cycles)
    how = draw.integers(0, 3, cycles)
    kept[bad & (how == 0), where[bad & (how == 0)]] = 0  # the frame is not there at all
    kept[bad & (how == 1), where[bad & (how == 1)]] = 2  # it is there twice
    silent = np.zeros_like(places)
    silent[bad & (how == 2), where[bad & (how == 2)]] = 1  # its time goes by without a pulse
    place = np.repeat(places.ravel(), kept.ravel())[: thumbs.frames]
    mute = np.repeat(silent.ravel(), kept.ravel())[: thumbs.frames]
    cycle_end = np.cumsum(kept.sum(axis=1))
    slots = place // sharing.frames_per_slot
    said = np.stack(
        [
            np.full(thumbs.frames, sum(sharing.marker_half_us) // 2),
            *(
                _said(thumbs, channel, slot + 1, draw, trouble=trouble)
                for slot in range(sharing.slots)
            ),
        ]
    )
    widths = np.where(mute, 0, said[slots, frames])
    heard = _without_losses(thumbs, frames, widths, trouble=trouble)
    return *heard, cycle_end[bad] * FRAME_TICKS


def _without_losses(
    thumbs: _Thumbs, frames: NDArray[np.int64], widths: NDArray[np.int64], *, trouble: bool
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Leaves out what is lost, and the first second. A frozen receiver repeats its last pulse."""
    widths = widths.copy()
    widths[:FRAMES_PER_S] = 0
    for start, freezes in thumbs.losses:
        end = start + FROZEN_FRAMES + SILENT_FRAMES
        before = widths[start - 1]
        widths[start:end] = 0
        if freezes and trouble:
            widths[start : start + FROZEN_FRAMES] = before
    spoke = widths > 0
    return frames[spoke] * FRAME_TICKS, widths[spoke]


def _sum_signal(
    thumbs: _Thumbs, draw: np.random.Generator, *, trouble: bool
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    described = thumbs.plan.sum_signal
    if described is None:
        raise ValueError("the ship has no sum signal")
    calm = np.full(thumbs.frames, ENDS_AND_CENTRE_US[1] * HALF_US_PER_US)
    places = np.column_stack(
        [
            calm if index == NOTHING_THERE else _said(thumbs, index, 0, draw, trouble=trouble)
            for index in described.channels
        ]
    )
    there = np.ones(places.shape, bool)
    if trouble:
        slipped = draw.random(thumbs.frames) < SLIPPED
        lost = draw.random(places.shape) < 0.3
        lost[np.arange(thumbs.frames), draw.integers(0, places.shape[1], thumbs.frames)] = True
        there[slipped] = ~lost[slipped]
    speaks = np.arange(thumbs.frames) >= FRAMES_PER_S
    for start, freezes in thumbs.losses:
        silent = start + (FROZEN_FRAMES if freezes and trouble else 0)
        speaks[silent : start + FROZEN_FRAMES + SILENT_FRAMES] = False
        if freezes and trouble:
            frozen = np.resize(FROZEN_US, places.shape[1]) * HALF_US_PER_US
            places[start:silent], there[start:silent] = frozen, True
    frames = np.flatnonzero(speaks)
    lengths = (places * there)[frames]
    edges = frames[:, None] * FRAME_HALF_US + TICK_HALF_US // 5 + np.cumsum(lengths, axis=1)
    begins = frames * FRAME_HALF_US + TICK_HALF_US // 5
    pauses = np.minimum(begins[1:] - edges[:-1, -1], SILENCE_HALF_US)
    pauses[pauses > FRAME_HALF_US] = SILENCE_HALF_US
    ends = np.column_stack([begins, edges])
    widths = np.column_stack([np.concatenate([[0], pauses]), lengths])
    spoke = widths > 0
    bad = np.flatnonzero(~there.all(axis=1)) + 1  # known when the next one begins
    return ends[spoke] // TICK_HALF_US, widths[spoke], bad * FRAME_TICKS
