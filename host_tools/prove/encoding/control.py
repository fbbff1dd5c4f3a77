"""Controls, as `host_tools/model/receiver.py` has them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import NO_POSITION, ON_ITS_OWN
from host_tools.model.receiver import ARMED, LOST, bytes_as_word
from host_tools.prove.encoding.part import Count, Flag, Part, Variable

if TYPE_CHECKING:
    from gen.plan import Control
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.part import Memory


class ControlEncoding(Part):
    """Where one control is believed to be."""

    def __init__(self, a: Any, control: Control) -> None:
        super().__init__(a)
        self.control = control
        self.in_slot = control.slot != ON_ITS_OWN

    def variables(self) -> dict[str, Variable]:
        made: dict[str, Variable] = {
            "position": Count(0, NO_POSITION, NO_POSITION, bits=8),
            "candidate": Count(0, NO_POSITION, NO_POSITION, bits=8),
            "count": Count(0, self.control.settle_pulses, bits=8),
            "armed": Flag(),
        }
        if self.control.proportional:
            made["value"] = Count(0, 0xFFFF)
            if self.in_slot:
                made["last"] = Count(0, 0xFFFF)
        return made

    def keeps(self, me: Memory) -> Truth:
        a, places = self.a, len(self.control.positions)
        known = [a.any_of(one < places, one == NO_POSITION) for one in (me.position, me.candidate)]
        return a.both(*known)

    def seen(self, position: Number, width: Number) -> Number:
        """Where a width is seen by who is at `position`: its own band, widened by the hysteresis,
        is asked first."""
        a, margin = self.a, self.control.hysteresis_half_us
        seen: Number = NO_POSITION
        for index, band in enumerate(self.control.positions):
            inside = a.both(band.low_half_us <= width, width <= band.high_half_us)
            seen = a.either(inside, index, seen)
        for index, band in enumerate(self.control.positions):
            low, high = band.low_half_us - margin, band.high_half_us + margin
            stays = a.both(position == index, low <= width, width <= high)
            seen = a.either(stays, index, seen)
        return seen

    def hear(self, me: Memory, heard: Truth, width: Number) -> None:
        """Takes a width, if it is heard."""
        a = self.a
        if self.in_slot:
            # It leaves a position at once, and takes a new one as late as ever.
            leaves = a.both(heard, self.seen(me.position, width) != me.position)
            me.position = a.either(leaves, NO_POSITION, me.position)
        seen = self.seen(me.position, width)
        stays = a.any_of(seen == NO_POSITION, seen == me.position)
        moves = a.both(heard, a.no(stays))
        fresh = a.both(moves, seen != me.candidate)
        count = a.either(fresh, 1, me.count + 1)
        settled = a.both(moves, count >= self.control.settle_pulses)
        me.candidate = a.either(fresh, seen, me.candidate)
        me.count = a.either(moves, a.either(settled, 0, count), a.either(heard, 0, me.count))
        me.position = a.either(settled, seen, me.position)
        if self.control.proportional:
            self._follow(me, heard, width)

    def _follow(self, me: Memory, heard: Truth, width: Number) -> None:
        a, dead = self.a, self.control.dead_band_half_us
        if not self.in_slot:
            far = a.any_of(width - me.value > dead, me.value - width > dead)
            me.value = a.either(a.both(heard, far), width, me.value)
            return
        low, high = a.least(width, me.last), a.most(width, me.last)
        up, down = low > me.value + dead, high < me.value - dead
        value = a.either(up, low, a.either(down, high, me.value))
        me.value = a.either(heard, value, me.value)
        me.last = a.either(heard, width, me.last)

    def judge(self, me: Memory, alive: Truth, lost: Truth) -> None:
        """What a tick makes of it: forgotten where the channel is lost, armed where it rests."""
        a = self.a
        me.position = a.either(lost, NO_POSITION, me.position)
        me.candidate = a.either(lost, NO_POSITION, me.candidate)
        me.count = a.either(lost, 0, me.count)
        rests = a.both(alive, me.position == self.control.rest)
        me.armed = a.both(a.no(lost), a.any_of(me.armed, rests))

    def words(self, me: Memory, lost: bool) -> tuple[int, ...]:
        """What the digest holds of it."""
        flags = (ARMED if me.armed else 0) | (LOST if lost else 0)
        words = (bytes_as_word(me.position, me.candidate), bytes_as_word(me.count, flags))
        if not self.control.proportional:
            return words
        return (*words, me.value, me.last) if self.in_slot else (*words, me.value)
