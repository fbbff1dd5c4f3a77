"""What comes one after another: `logic/shared_channel.h` and `logic/sum_signal.h`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from gen.plan import Sharing, SumSignal

NOTHING: Final = 0
"""The pulse says nothing, not even that the transmitter is there."""

ALIVE: Final = 1
"""It may belong to a good cycle."""

COMPLETE: Final = 2
"""It completes a good cycle."""

BAD_CYCLES_MOST: Final = 6
"""After so many bad cycles in a row pulses are no sign of life any more."""


class SharingState:
    """The cycle of a shared channel, from marker to marker."""

    def __init__(self, sharing: Sharing) -> None:
        self.marker_low, self.marker_high = sharing.marker_half_us
        self.frames = sharing.frames_per_slot
        self.whole = sharing.pulses
        self.widths = [0] * sharing.slots
        self.dropped = 0
        self.pulses = 0
        self.bad_in_a_row = 0

    def take(self, width: int) -> int:
        """Takes a good pulse: NOTHING, ALIVE or COMPLETE."""
        if self.marker_low <= width <= self.marker_high:
            return self._end()
        if self.pulses >= self.whole:
            self.pulses = self.whole + 1
            return NOTHING
        self.widths[self.pulses // self.frames] = width
        self.pulses += 1
        return ALIVE if self.bad_in_a_row < BAD_CYCLES_MOST else NOTHING

    def _end(self) -> int:
        if not self.pulses:
            return NOTHING
        good = self.pulses == self.whole
        self.pulses = 0
        if good:
            self.bad_in_a_row = 0
            return COMPLETE
        self.dropped = min(self.dropped + 1, 0xFFFF)
        self.bad_in_a_row = min(self.bad_in_a_row + 1, BAD_CYCLES_MOST)
        return NOTHING

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it, in words as memory has them, behind its channel's own."""
        return (*self.widths, self.dropped, self.pulses | self.bad_in_a_row << 8)


class SumState:
    """The frame of a sum signal, from gap to gap."""

    def __init__(self, described: SumSignal) -> None:
        self.gap = described.gap_half_us
        self.low, self.high = described.valid_half_us
        self.channels = described.channels
        self.widths = [0] * len(described.channels)
        self.dropped = 0
        self.places = 0

    def completes(self, interval: int) -> bool:
        """Takes the time between two edges; says whether it completes a good frame."""
        whole = len(self.widths)
        if interval >= self.gap:
            places, self.places = self.places, 0
            if places not in (0, whole):
                self.dropped = min(self.dropped + 1, 0xFFFF)
            return places == whole
        if self.places < whole and self.low <= interval <= self.high:
            self.widths[self.places] = interval
            self.places += 1
        else:
            self.places = whole + 1
        return False

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it."""
        return (*self.widths, self.dropped, self.places)
