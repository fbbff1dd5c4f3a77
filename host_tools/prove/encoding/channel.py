"""Channels, as `host_tools/model/receiver.py` has them; what comes one after another, as
`host_tools/model/shared.py`.

The age of a channel here grows at the beginning of a tick, so that it is what the digest takes at
the end of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from host_tools.model.receiver import NEVER_HEARD
from host_tools.model.shared import BAD_CYCLES_MOST
from host_tools.prove.encoding.part import Count, Part, Variable

if TYPE_CHECKING:
    from gen.plan import Channel, SumSignal
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.part import Memory

WORD = 0xFFFF


class ChannelEncoding(Part):
    """One channel: how long ago it was heard and, if it is shared, how far its cycle has come."""

    def __init__(self, a: Any, channel: Channel) -> None:
        super().__init__(a)
        self.channel = channel
        self.sharing = channel.sharing

    def variables(self) -> dict[str, Variable]:
        made: dict[str, Variable] = {
            "age": Count(0, NEVER_HEARD, NEVER_HEARD),
            "bad": Count(0, WORD),
        }
        if self.sharing is not None:
            made |= {f"width{slot}": Count(0, WORD) for slot in range(self.sharing.slots)}
            made |= {
                "dropped": Count(0, WORD),
                "pulses": Count(0, self.sharing.pulses + 1, bits=8),
                "bad_in_a_row": Count(0, BAD_CYCLES_MOST, bits=8),
            }
        return made

    def keeps(self, me: Memory) -> Truth:
        return self.a.any_of(me.age <= self.channel.lost_after_ticks, me.age == NEVER_HEARD)

    def lost(self, me: Memory) -> Truth:
        """It was heard once and is no longer."""
        return me.age == self.channel.lost_after_ticks

    def alive(self, me: Memory) -> Truth:
        """Whether it is heard."""
        return me.age < self.channel.lost_after_ticks

    def grow(self, me: Memory) -> None:
        """A tick begins."""
        me.age = self.a.either(self.alive(me), me.age + 1, me.age)

    def hear(self, me: Memory, width: Number) -> tuple[Truth, dict[int, Number]]:
        """Takes a pulse: whether its controls hear anything, and what by their slot."""
        a, channel = self.a, self.channel
        low, high = channel.valid_half_us
        valid = a.both(low <= width, width <= high)
        preset = a.any_of(width < channel.lost_below_half_us, width > channel.lost_above_half_us)
        good = a.both(valid, a.no(preset))
        me.bad = a.either(valid, me.bad, a.least(me.bad + 1, WORD))
        if self.sharing is None:
            me.age = a.either(good, 0, me.age)
            return good, {0: width}
        lives, complete = self._take(me, width, good)
        me.age = a.either(lives, 0, me.age)
        slots = range(self.sharing.slots)
        return complete, {slot + 1: getattr(me, f"width{slot}") for slot in slots}

    def _take(self, me: Memory, width: Number, good: Truth) -> tuple[Truth, Truth]:
        """Whether the pulse is a sign of life, and whether it completes a good cycle."""
        a, sharing = self.a, self.sharing
        assert sharing is not None  # noqa: S101 - who calls has looked
        low, high = sharing.marker_half_us
        marker = a.both(good, low <= width, width <= high)
        in_cycle = a.both(good, a.no(marker))
        fits = a.both(in_cycle, me.pulses < sharing.pulses)
        for slot in range(sharing.slots):
            first = slot * sharing.frames_per_slot
            mine = a.both(fits, first <= me.pulses, me.pulses < first + sharing.frames_per_slot)
            name = f"width{slot}"
            setattr(me, name, a.either(mine, width, getattr(me, name)))
        complete = a.both(marker, me.pulses == sharing.pulses)
        wrong = a.both(marker, me.pulses != 0, me.pulses != sharing.pulses)
        lives = a.any_of(complete, a.both(fits, me.bad_in_a_row < BAD_CYCLES_MOST))
        me.dropped = a.either(wrong, a.least(me.dropped + 1, WORD), me.dropped)
        more = a.either(wrong, a.least(me.bad_in_a_row + 1, BAD_CYCLES_MOST), me.bad_in_a_row)
        me.bad_in_a_row = a.either(complete, 0, more)
        counted = a.either(fits, me.pulses + 1, a.either(in_cycle, sharing.pulses + 1, me.pulses))
        me.pulses = a.either(marker, 0, counted)
        return lives, complete

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        if self.sharing is None:
            return me.age, me.bad
        widths = (getattr(me, f"width{slot}") for slot in range(self.sharing.slots))
        return (me.age, me.bad, *widths, me.dropped, me.pulses | me.bad_in_a_row << 8)


class SumEncoding(Part):
    """The frame of a sum signal, from gap to gap."""

    def __init__(self, a: Any, described: SumSignal) -> None:
        super().__init__(a)
        self.described = described

    def variables(self) -> dict[str, Variable]:
        places = len(self.described.channels)
        made: dict[str, Variable] = {f"width{place}": Count(0, WORD) for place in range(places)}
        return made | {"dropped": Count(0, WORD), "places": Count(0, places + 1)}

    def hear(self, me: Memory, interval: Number) -> tuple[Truth, list[Number]]:
        """Takes the time between two edges: whether it completes a good frame, and its widths."""
        a, whole = self.a, len(self.described.channels)
        low, high = self.described.valid_half_us
        gap = interval >= self.described.gap_half_us
        fits = a.both(a.no(gap), me.places < whole, low <= interval, interval <= high)
        for place in range(whole):
            name = f"width{place}"
            mine = a.both(fits, me.places == place)
            setattr(me, name, a.either(mine, interval, getattr(me, name)))
        complete = a.both(gap, me.places == whole)
        wrong = a.both(gap, me.places != 0, me.places != whole)
        me.dropped = a.either(wrong, a.least(me.dropped + 1, WORD), me.dropped)
        me.places = a.either(gap, 0, a.either(fits, me.places + 1, whole + 1))
        return complete, [getattr(me, f"width{place}") for place in range(whole)]

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        widths = (getattr(me, f"width{place}") for place in range(len(self.described.channels)))
        return (*widths, me.dropped, me.places)
