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

TOLERANCE_HALF_US = 8
"""4 us: an edge can wait for another one's interrupt (46 cycles on the ATmega328P, 57 on the
ATmega2560), and the timer counts half microseconds."""

SHORTEST_HALF_US = 20
"""A pulse below 10 us may pass within one interrupt, and need not be seen."""

LONGEST_HALF_US = 10_000
"""A pulse that lasts longer than a tick may be told as too long to measure."""

TOO_LONG = 0xFFFF

DECODED_CYCLES = 4_000
"""A pulse that ended this long before a tick is sampled has been taken in that tick."""


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
        len(reports), like.channels, keys // deepest, table, like.ship, like.plan_id, like.source
    )


def first_misread(
    driven: Driven, reports: NDArray[np.void], sampled: NDArray[np.int64]
) -> str | None:
    """The first pulse that the chip missed, invented or measured wrongly, in words; None if there
    is none.

    A pulse may be missing if it was too short, if it ended in a tick that brought more pulses than
    the report has room for (the firmware counts those), or at the very end of the run. `sampled`
    are the cycles at which the ticks took their pulses.
    """
    full = np.append(reports["count"] == reports["pulses"].shape[1], True)
    seen_channel, seen_width = _in_order(reports)
    for channel in np.unique(np.concatenate([driven.channel, seen_channel])):
        mine = driven.channel == channel
        given, end = driven.width_half_us[mine], driven.end[mine]
        got = seen_width[seen_channel == channel]
        # Which tick took a pulse that ended just before its sampling is not for us to say.
        taken = [np.searchsorted(sampled, end + late) for late in (0, DECODED_CYCLES)]
        excused = (given < SHORTEST_HALF_US) | full[taken[0]] | full[taken[1]]
        if len(given) == len(got) and _same(given, got).all():
            continue
        if (fault := _first_fault(given, got, excused)) is not None:
            return f"channel {channel}: {fault}"
    return None


def _in_order(reports: NDArray[np.void]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Channels and widths of all reported pulses."""
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    return pulses["channel"].astype(np.int64), pulses["width"].astype(np.int64)


def _same(given: NDArray[np.int64], got: NDArray[np.int64]) -> NDArray[np.bool_]:
    near = np.abs(given - got) <= TOLERANCE_HALF_US
    return np.asarray(near | ((got == TOO_LONG) & (given > LONGEST_HALF_US)))


def _first_fault(
    given: NDArray[np.int64], got: NDArray[np.int64], excused: NDArray[np.bool_]
) -> str | None:
    """Lays the pulses that were seen against those that were given, of which the excused may be
    missing. `places` are all counts of seen pulses that can have been told so far."""
    told = [*got.tolist(), None]
    places = {0}
    for index, (width, may_miss) in enumerate(zip(given.tolist(), excused.tolist(), strict=True)):
        onward = {place + 1 for place in places if _is(width, told[place])}
        if may_miss:
            onward |= places
        if not onward:
            last = told[max(places)]
            saw = "nothing" if last is None else f"{last / 2:g} us"
            return f"pulse {index} was {width / 2:g} us, the chip saw {saw}"
        places = onward
    if len(got) not in places:
        return f"the chip saw {len(got)} pulses, more than the {len(given)} that it was given"
    return None


def _is(width: int, seen: int | None) -> bool:
    return seen is not None and (
        abs(width - seen) <= TOLERANCE_HALF_US or (seen == TOO_LONG and width > LONGEST_HALF_US)
    )
