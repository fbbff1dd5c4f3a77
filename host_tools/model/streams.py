"""What each channel of a trace lets its controls hear, found for the whole trace at once.

A stream is a row of widths that some controls hear one by one: all pulses of a channel or, where it
is shared, what one slot says, once a good cycle. A shared channel has one more stream that nobody
listens to; it only tells when the channel comes alive.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import ON_ITS_OWN
from host_tools.model.receiver import GOOD, pulse_verdicts
from host_tools.model.shared import BAD_CYCLES_MOST

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from gen.plan import Plan, Sharing, SumSignal
    from host_tools.trace import Trace


@dataclass(frozen=True)
class Stream:
    """A channel, and who hears what it says (indices into the plan)."""

    channel: int
    controls: tuple[int, ...]
    slot: int


def streams_of(plan: Plan) -> list[Stream]:
    """All streams; of a shared channel first the one that nobody hears."""
    streams = []
    for index in range(len(plan.channels)):
        on_it = [number for number, one in enumerate(plan.controls) if one.channel == index]
        shared = plan.channels[index].sharing is not None
        slots = sorted({plan.controls[number].slot for number in on_it} - {ON_ITS_OWN})
        for slot in [ON_ITS_OWN, *slots] if shared else [ON_ITS_OWN]:
            heard_by = tuple(number for number in on_it if plan.controls[number].slot == slot)
            streams.append(Stream(index, heard_by, slot))
    return streams


@dataclass(frozen=True)
class Heard:
    """The widths of one stream: the trace's row of each, whether it is the first of its spell (the
    channel had been lost, or was never heard), and the tick at which the spell ends in loss."""

    rows: NDArray[np.int64]
    widths: NDArray[np.uint16]
    first: NDArray[np.bool_]
    lost_at: NDArray[np.int64]


def heard(plan: Plan, trace: Trace) -> Iterator[Heard]:
    """What each of `streams_of(plan)` hears in `trace`, in their order."""
    frames = _frames(plan.sum_signal, trace) if plan.sum_signal is not None else {}
    columns = {one.channels[0]: number for number, one in enumerate(plan.inputs) if not one.is_sum}
    cycles: dict[int, _Cycles] = {}
    for stream in streams_of(plan):
        channel = plan.channels[stream.channel]
        if stream.channel in frames:
            rows, widths = frames[stream.channel]
        else:
            column = trace.widths_half_us[:, columns[stream.channel]]
            rows = np.flatnonzero(column)
            widths = column[rows]
        good = pulse_verdicts(channel)[widths] == GOOD
        rows, widths = rows[good], widths[good]
        if channel.sharing is None:
            yield Heard(rows, widths, *_spells(trace.at[rows], channel.lost_after_ticks))
            continue
        if stream.channel not in cycles:
            cycles[stream.channel] = _Cycles(channel.sharing, rows, widths)
        yield cycles[stream.channel].heard(stream.slot, trace, channel.lost_after_ticks)


def _spells(
    at: NDArray[np.int64], lost_after_ticks: int
) -> tuple[NDArray[np.bool_], NDArray[np.int64]]:
    """For signs of life at these ticks: whether each is the first of its spell, and when its spell
    ends in loss."""
    if not len(at):
        return np.zeros(0, bool), at
    silent = np.diff(at) > lost_after_ticks
    first = np.concatenate(([True], silent))
    last = np.concatenate((silent, [True]))
    return first, (at[last] + lost_after_ticks)[np.cumsum(first) - 1]


def _frames(
    described: SumSignal, trace: Trace
) -> dict[int, tuple[NDArray[np.int64], NDArray[np.uint16]]]:
    """Each channel's rows and widths out of the good frames of a sum signal, the last input."""
    column = trace.widths_half_us[:, -1]
    rows = np.flatnonzero(column)
    intervals = column[rows]
    low, high = described.valid_half_us
    ends = np.flatnonzero(intervals >= described.gap_half_us)
    starts = np.concatenate(([0], ends[:-1] + 1))[: len(ends)]
    wrong = (intervals < low) | (intervals > high)
    wrong_before = np.concatenate(([0], np.cumsum(wrong)))
    good = (ends - starts == len(described.channels)) & (wrong_before[ends] == wrong_before[starts])
    starts, ends = starts[good], ends[good]
    return {
        channel: (rows[ends], intervals[starts + place])
        for place, channel in enumerate(described.channels)
        if channel >= 0
    }


@dataclass(frozen=True)
class _Cycles:
    """A shared channel's good pulses, parted at its markers."""

    sharing: Sharing
    rows: NDArray[np.int64]
    widths: NDArray[np.uint16]

    @cached_property
    def markers(self) -> NDArray[np.int64]:
        """The places of all markers."""
        low, high = self.sharing.marker_half_us
        return np.flatnonzero((self.widths >= low) & (self.widths <= high))

    @cached_property
    def starts(self) -> NDArray[np.int64]:
        """Where each cycle begins, the last one, that no marker ends, too."""
        return np.concatenate(([0], self.markers + 1))

    @cached_property
    def good(self) -> NDArray[np.bool_]:
        """Whether each ended cycle has as many pulses as it should."""
        return np.asarray(self.markers - self.starts[:-1] == self.sharing.pulses)

    @cached_property
    def signs_of_life(self) -> NDArray[np.int64]:
        """The places of pulses that keep the channel alive."""
        bad = (self.markers > self.starts[:-1]) & ~self.good
        bads = np.concatenate(([0], np.cumsum(bad)))
        at_last_good = np.maximum.accumulate(
            np.concatenate(([0], np.where(self.good, bads[1:], 0)))
        )
        understood = bads - at_last_good < BAD_CYCLES_MOST
        cycle = np.searchsorted(self.markers, np.arange(len(self.widths)))
        place = np.arange(len(self.widths)) - self.starts[cycle]
        alive = understood[cycle] & (place < self.sharing.pulses)
        alive[self.markers] = self.good
        return np.flatnonzero(alive)

    def heard(self, slot: int, trace: Trace, lost_after_ticks: int) -> Heard:
        """What a slot says, or (ON_ITS_OWN) the first sign of life of each spell."""
        alive = self.signs_of_life
        first, lost_at = _spells(trace.at[self.rows[alive]], lost_after_ticks)
        if slot == ON_ITS_OWN:
            place = alive[first]
            return Heard(self.rows[place], self.widths[place], first[first], lost_at[first])
        ends = self.markers[self.good]
        lost_at = lost_at[np.searchsorted(alive, ends)]
        spell = np.cumsum(first)[np.searchsorted(alive, ends)]
        fresh = np.concatenate(([True], np.diff(spell) > 0))[: len(ends)]
        said = ends - self.sharing.pulses + slot * self.sharing.frames_per_slot - 1
        return Heard(self.rows[ends], self.widths[said], fresh, lost_at)
