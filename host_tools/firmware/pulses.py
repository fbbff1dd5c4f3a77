"""A trace's pulses as edges on pins, and whether the chip saw what it was given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.chip import EVENT
from host_tools.trace import NO_PULSE, Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

CYCLES_A_HALF_US = 8
CYCLES_A_TICK = 80_000

GAP_CYCLES = 200 * 16
"""Two pulses on one channel are at least 200 us apart."""

FIRST_END_CYCLES, LAST_END_CYCLES = 1_000 * 16, 4_500 * 16
"""Within its tick a pulse ends between these, each channel at its own time: well away from the
tick's ends, so that it is always taken in the tick that it was meant for."""

FIRST_RISE_CYCLES = 100 * 16
"""The first edge comes this long after the chip has begun to look at its inputs."""

TOLERANCE_HALF_US = 9
"""4.5 us: an edge can wait for another one's interrupt (46 cycles on the ATmega328P, 57 on the
ATmega2560) and one instruction, and the timer counts half microseconds."""

SHORTEST_HALF_US = 20
"""A pulse below 10 us may pass within one interrupt, and need not be seen."""

LONGEST_HALF_US = 10_000
"""A pulse that lasts longer than a tick may be told as too long to measure."""

TOO_LONG = 0xFFFF

DECODED_CYCLES = 40_000
"""A pulse that ended this long before a tick is sampled has been taken in that tick. It is mostly
far less; but working out a ring full of changes takes 2 ms, and what comes in the meantime has to
wait for the next tick."""


@dataclass(frozen=True)
class Driven:
    """Pulses laid out in time: `channel`, `width_half_us` and `end` (cycle) of each, channel by
    channel and in the order of time."""

    channel: NDArray[np.int64]
    width_half_us: NDArray[np.int64]
    end: NDArray[np.int64]

    def events(self) -> NDArray[np.void]:
        """All their edges, in the order of time."""
        events = np.zeros(2 * len(self.end), dtype=EVENT)
        events["cycle"] = np.concatenate(
            [self.end - self.width_half_us * CYCLES_A_HALF_US, self.end]
        )
        events["input"] = np.tile(self.channel, 2)
        events["level"][: len(self.end)] = 1
        return events[np.argsort(events["cycle"], kind="stable")]


def lay_out(trace: Trace, first_tick: int) -> Driven:
    """Puts each pulse's end into its tick, where there is room for it: a pulse never begins before
    the one before it on its channel has ended. `first_tick` is when tick 0 samples (cycle)."""
    parts = []
    for channel in range(len(trace.channels)):
        rows = np.flatnonzero(trace.widths_half_us[:, channel] != NO_PULSE)
        widths = trace.widths_half_us[rows, channel].astype(np.int64)
        at = trace.at[rows]
        several = np.bincount(at, minlength=1)[at] > 1 if len(at) else np.empty(0, bool)
        share = channel / max(1, len(trace.channels) - 1)
        offset = FIRST_END_CYCLES + int(share * (LAST_END_CYCLES - FIRST_END_CYCLES))
        wanted = first_tick + (at - 1) * CYCLES_A_TICK + np.where(several, FIRST_END_CYCLES, offset)
        parts.append((np.full(len(rows), channel), widths, _ends(wanted, widths, first_tick)))
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)]
    return Driven(*columns)


def _ends(
    wanted: NDArray[np.int64], widths: NDArray[np.int64], first_tick: int
) -> NDArray[np.int64]:
    """The ends nearest to, and not before, those wanted: end[i] >= end[i - 1] + gap + width[i]."""
    if not len(wanted):
        return wanted
    needed = np.cumsum(widths * CYCLES_A_HALF_US + GAP_CYCLES)
    earliest = first_tick - CYCLES_A_TICK + FIRST_RISE_CYCLES - GAP_CYCLES
    slack = np.maximum(wanted - needed, earliest)
    return np.asarray(np.maximum.accumulate(slack) + needed)


def as_seen(reports: NDArray[np.void], like: Trace) -> Trace:
    """The pulses of all reports, one row for each tick in which something came and a further one
    for each further pulse of a channel."""
    counts = reports["count"].astype(np.int64)
    slots = np.arange(reports["pulses"].shape[1])
    ticks, places = np.nonzero(slots < counts[:, None])
    channels = reports["pulses"]["channel"][ticks, places].astype(np.int64)
    widths = reports["pulses"]["width"][ticks, places]
    order = np.lexsort((places, channels, ticks))
    group = ticks[order] * len(like.channels) + channels[order]
    rank = np.empty(len(group), dtype=np.int64)
    rank[order] = np.arange(len(group)) - np.searchsorted(group, group)
    deepest = int(rank.max(initial=0)) + 1
    keys, rows = np.unique(ticks * deepest + rank, return_inverse=True)
    table = np.zeros((len(keys), len(like.channels)), dtype=np.uint16)
    table[rows, channels] = widths
    return Trace(
        len(reports),
        like.channels,
        keys // deepest,
        table,
        like.ship,
        like.plan_id,
        like.source,
        kept=like.kept,
    )


@dataclass(frozen=True)
class Misread:
    """What the chip made of a pulse that it should not have, and in which tick."""

    tick: int
    text: str


def first_misread(
    driven: Driven, reports: NDArray[np.void], sampled: NDArray[np.int64]
) -> Misread | None:
    """The first pulse of a channel that the chip missed, invented, measured wrongly or told in the
    wrong tick; None if there is none.

    A pulse may be missing if it was too short, if it ended in a tick that brought more pulses than
    the report has room for (the firmware counts those), or at the very end of the run. `sampled`
    are the cycles at which the ticks took their pulses.
    """
    full = np.append(reports["count"] == reports["pulses"].shape[1], True)
    seen_tick, seen_channel, seen_width = _in_order(reports)
    for channel in np.unique(np.concatenate([driven.channel, seen_channel])):
        mine, here = driven.channel == channel, seen_channel == channel
        given = driven.width_half_us[mine]
        # Which of two ticks took a pulse that ended just before a sampling is not for us to say.
        early, late = (np.searchsorted(sampled, driven.end[mine] + d) for d in (0, DECODED_CYCLES))
        got, told = seen_width[here], seen_tick[here]
        if len(given) == len(got) and (_same(given, got) & (early <= told) & (told <= late)).all():
            continue
        excused = (given < SHORTEST_HALF_US) | full[early] | full[late]
        fault = _first_fault(
            list(zip(given.tolist(), early.tolist(), late.tolist(), excused.tolist(), strict=True)),
            list(zip(got.tolist(), told.tolist(), strict=True)),
        )
        if fault is not None:
            return Misread(fault.tick, f"channel {channel}: {fault.text}")
    return None


def _in_order(
    reports: NDArray[np.void],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Tick, channel and width of all reported pulses."""
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    ticks = np.nonzero(taken)[0]
    return ticks, pulses["channel"].astype(np.int64), pulses["width"].astype(np.int64)


def _same(given: NDArray[np.int64], got: NDArray[np.int64]) -> NDArray[np.bool_]:
    near = np.abs(given - got) <= TOLERANCE_HALF_US
    return np.asarray(near | ((got == TOO_LONG) & (given > LONGEST_HALF_US)))


def _first_fault(
    given: list[tuple[int, int, int, bool]], seen: list[tuple[int, int]]
) -> Misread | None:
    """Lays the pulses that were seen (width, tick) against those that were given (width, first and
    last tick that may tell it, whether it may be missing).

    `places` are all counts of seen pulses that can have been told so far: where pulses may be
    missing, which one a width belongs to is not always clear.
    """
    places = {0}
    for index, (width, early, late, may_miss) in enumerate(given):
        onward = set(places) if may_miss else set()
        for place in places:
            if place < len(seen) and early <= seen[place][1] <= late and _is(width, seen[place][0]):
                onward.add(place + 1)
        # A seen pulse that is older than this one will never be told again.
        onward = {place for place in onward if place == len(seen) or seen[place][1] >= early}
        if not onward:
            next_one = max(places)
            saw = f"{seen[next_one][0] / 2:g} us" if next_one < len(seen) else "nothing"
            return Misread(early, f"pulse {index} was {width / 2:g} us, the chip saw {saw}")
        places = onward
    if len(seen) in places:
        return None
    more = f"the chip saw {len(seen)} pulses, more than the {len(given)} that it was given"
    return Misread(seen[max(places)][1], more)


def _is(width: int, seen: int) -> bool:
    near = abs(width - seen) <= TOLERANCE_HALF_US
    return near or (seen == TOO_LONG and width > LONGEST_HALF_US)
