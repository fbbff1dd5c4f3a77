"""A trace's pulses as edges on pins, and whether the chip saw what it was given."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.chip import EVENT
from host_tools.rows import as_rows
from host_tools.trace import NO_PULSE, Trace

if TYPE_CHECKING:
    from numpy.typing import NDArray

CYCLES_A_HALF_US = 8
CYCLES_A_TICK = 80_000

GAP_CYCLES = 200 * 16
"""Two pulses on one input are at least 200 us apart."""

SEPARATOR_CYCLES = 300 * 16
"""How long a sum signal's edges of one kind lie before those of the other (common: 300 to 400 us);
at most half of what lies between two of a kind."""

FIRST_END_CYCLES, LAST_END_CYCLES = 1_000 * 16, 4_500 * 16
"""Within its tick a pulse ends between these, each input at its own time: well away from the
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

SILENCE_CYCLES = 3 * CYCLES_A_TICK
"""In a sum signal too long is told of at least so long a time."""

DECODED_CYCLES = 40_000
"""A pulse that ended this long before a tick is sampled has been taken in that tick. It is mostly
far less; but working out a ring full of changes takes 2 ms, and what comes in the meantime has to
wait for the next tick."""


@dataclass(frozen=True)
class Driven:
    """Pulses laid out in time: `input`, `width_half_us` and `end` (cycle) of each, input by input
    and in the order of time. What a sum signal has between its edges counts as its pulses;
    `sum_edges` are the cycles of those edges, `sum_falls` says of which kind they are; of one that
    `sum_goes_on` the first edge has been given before."""

    input: NDArray[np.int64]
    width_half_us: NDArray[np.int64]
    end: NDArray[np.int64]
    sum_input: int = -1
    sum_edges: NDArray[np.int64] = field(default_factory=lambda: np.zeros(0, np.int64))
    sum_falls: bool = False
    sum_goes_on: bool = False

    def events(self) -> NDArray[np.void]:
        """All their edges, in the order of time."""
        own = self.input != self.sum_input
        end, width = self.end[own], self.width_half_us[own]
        events = np.zeros(2 * len(end), dtype=EVENT)
        events["cycle"] = np.concatenate([end - width * CYCLES_A_HALF_US, end])
        events["input"] = np.tile(self.input[own], 2)
        events["level"][: len(end)] = 1
        events = np.concatenate([events, self._sum_events()])
        return events[np.argsort(events["cycle"], kind="stable")]

    def _sum_events(self) -> NDArray[np.void]:
        """Every edge of the sum signal, and at the very beginning the level that it has without
        one."""
        if not len(self.sum_edges):
            return np.zeros(0, dtype=EVENT)
        to_next = np.diff(self.sum_edges, append=self.sum_edges[-1] + 2 * SEPARATOR_CYCLES)
        back = self.sum_edges + np.minimum(SEPARATOR_CYCLES, to_next // 2)
        events = np.zeros(2 * len(back) + 1, dtype=EVENT)
        events["cycle"] = np.concatenate([[1], self.sum_edges, back])
        events["input"] = self.sum_input
        events["level"][0] = self.sum_falls
        events["level"][1 : 1 + len(back)] = not self.sum_falls
        events["level"][1 + len(back) :] = self.sum_falls
        if self.sum_goes_on:
            # Neither the level at its beginning nor the first edge, there and back.
            return np.delete(events, [0, 1, 1 + len(back)])
        return events


def lay_out(
    trace: Trace,
    first_tick: int,
    *,
    has_sum: bool = False,
    falls: bool = False,
    last_edge: int | None = None,
) -> Driven:
    """Puts each pulse's end into its tick, where there is room for it: a pulse never begins before
    the one before it on its input has ended. `first_tick` is when tick 0 samples (cycle).
    `has_sum`: the last input is a sum signal, in which one follows on the other without a break,
    so that only the first, and one behind a silence, can be put anywhere; `falls`: by its falling
    edges. `last_edge` is that of the trace before, if this one goes on where that ended."""
    parts = []
    edges = np.zeros(0, np.int64)
    last = len(trace.channels) - 1
    for number in range(len(trace.channels)):
        rows = np.flatnonzero(trace.widths_half_us[:, number] != NO_PULSE)
        widths = trace.widths_half_us[rows, number].astype(np.int64)
        at = trace.at[rows]
        if has_sum and number == last:
            wanted = first_tick + (at - 1) * CYCLES_A_TICK + FIRST_END_CYCLES
            edges = _sum_edges(wanted, widths, first_tick, last_edge)
            parts.append((np.full(len(rows), number), widths, edges[1:]))
            continue
        several = np.bincount(at, minlength=1)[at] > 1 if len(at) else np.empty(0, bool)
        share = number / max(1, last)
        offset = FIRST_END_CYCLES + int(share * (LAST_END_CYCLES - FIRST_END_CYCLES))
        wanted = first_tick + (at - 1) * CYCLES_A_TICK + np.where(several, FIRST_END_CYCLES, offset)
        parts.append((np.full(len(rows), number), widths, _ends(wanted, widths, first_tick)))
    inputs, all_widths, ends = (np.concatenate(column) for column in zip(*parts, strict=True))
    goes_on = last_edge is not None
    return Driven(inputs, all_widths, ends, last if has_sum else -1, edges, falls, goes_on)


def _sum_edges(
    wanted: NDArray[np.int64], widths: NDArray[np.int64], first_tick: int, last_edge: int | None
) -> NDArray[np.int64]:
    """One edge before each interval of these widths, and one at its end."""
    if not len(wanted):
        return wanted
    earliest = first_tick - CYCLES_A_TICK + FIRST_RISE_CYCLES
    at = max(earliest, int(wanted[0] - widths[0] * CYCLES_A_HALF_US))
    if last_edge is not None:
        at = last_edge
    edges = [at]
    for width, end in zip(widths.tolist(), wanted.tolist(), strict=True):
        at = max(end, at + SILENCE_CYCLES) if width == TOO_LONG else at + width * CYCLES_A_HALF_US
        edges.append(at)
    return np.array(edges, dtype=np.int64)


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
    for each further pulse of an input."""
    counts = reports["count"].astype(np.int64)
    slots = np.arange(reports["pulses"].shape[1])
    ticks, places = np.nonzero(slots < counts[:, None])
    inputs = reports["pulses"]["input"][ticks, places].astype(np.int64)
    widths = reports["pulses"]["width"][ticks, places]
    at, table = as_rows(ticks, inputs, widths, len(like.channels))
    return Trace(
        len(reports),
        like.channels,
        at,
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
    """The first pulse of an input that the chip missed, invented, measured wrongly or told in the
    wrong tick; None if there is none.

    A pulse may be missing if it was too short, if it ended in a tick that brought more pulses than
    the report has room for (the firmware counts those), or at the very end of the run. `sampled`
    are the cycles at which the ticks took their pulses.
    """
    full = np.append(reports["count"] == reports["pulses"].shape[1], True)
    seen_tick, seen_input, seen_width = _in_order(reports)
    for number in np.unique(np.concatenate([driven.input, seen_input])):
        mine, here = driven.input == number, seen_input == number
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
            return Misread(fault.tick, f"input {number}: {fault.text}")
    return None


def _in_order(
    reports: NDArray[np.void],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Tick, input and width of all reported pulses."""
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    ticks = np.nonzero(taken)[0]
    return ticks, pulses["input"].astype(np.int64), pulses["width"].astype(np.int64)


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
