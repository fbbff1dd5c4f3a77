"""Winch: a motor that turns two ways; what is wanted of it is which."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Winch
from host_tools.model.behaviours.base import words
from host_tools.model.behaviours.winch import FIRST, SECOND, STOPPED
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.function import FunctionEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from gen.behaviours.winch import Duty
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class WinchEncoding(FunctionEncoding[Winch]):
    """As `WinchModel`."""

    @property
    def travel(self) -> int:
        """The whole travel in its units."""
        return self.function.first_limit_ticks * self.function.second_limit_ticks

    def memory(self) -> dict[str, Variable]:
        duty = self.function.duty
        stalls = self.function.stall_ticks if self.function.stall is not None else 0
        warmest = duty.limit + duty.warms if duty is not None else 0
        return {
            "motor": Count(0, SECOND, bits=8),
            "turned_last": Count(0, SECOND, bits=8),
            "still": Count(0, self.function.pause_ticks),
            "first_room": Count(0, self.travel, self.travel, bits=32),
            "second_room": Count(0, self.travel, self.travel, bits=32),
            "warmth": Count(0, warmest, bits=32),
            "resting": Flag(),
            "stalled": Count(0, stalls),
            "stopped_by_stall": Flag(),
        }

    def keeps(self, me: Memory) -> Truth:
        if self.function.duty is None:
            return True
        return self.a.any_of(me.resting, me.warmth < self.function.duty.limit)

    def told(self, me: Memory) -> tuple[Truth, Truth, Truth]:
        """Whether it is at its first end, at its second one, and held fast."""
        names = {bit: f"so{place}" for place, bit in enumerate((1, 2, 4))}
        first, second, fast = (
            getattr(me, names[bit]) if bit else False for bit in self.function.bits
        )
        return first, second, fast

    def found(self, me: Memory, turned_last: Any) -> tuple[Truth, Truth]:
        """Whether its first end, or its second one, tells where it is: not once it has turned away
        from there."""
        a = self.a
        at_first, at_second, _ = self.told(me)
        return (
            a.both(at_first, a.no(at_second), turned_last != SECOND),
            a.both(at_second, a.no(at_first), turned_last != FIRST),
        )

    def asked(self, me: Memory, see: Seen) -> Any:
        del me
        a = self.a
        first, second = self.held(self.function.first, see), self.held(self.function.second, see)
        only_first, only_second = a.both(first, a.no(second)), a.both(second, a.no(first))
        return a.either(only_first, FIRST, a.either(only_second, SECOND, STOPPED))

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del me, wanted
        return STOPPED

    def when_barred(self, me: Memory) -> Any:
        del me
        return STOPPED

    def limited(self, me: Memory, wanted: Any) -> Any:
        a, function = self.a, self.function
        at_first, at_second, _ = self.told(me)
        only_first, only_second = self.found(me, me.turned_last)
        for name, empty, full in (
            ("first_room", only_first, only_second),
            ("second_room", only_second, only_first),
        ):
            room = a.either(full, self.travel, getattr(me, name))
            setattr(me, name, a.either(empty, 0, room))
        me.stopped_by_stall = a.both(me.stopped_by_stall, wanted != STOPPED)
        known = me.first_room + me.second_room == self.travel
        may = dict(zip((FIRST, SECOND), function.unknown or (True, True), strict=True))
        waits = a.both(wanted != me.turned_last, me.still < function.pause_ticks)
        ways = (
            (FIRST, at_first, me.first_room, function.second_limit_ticks),
            (SECOND, at_second, me.second_room, function.first_limit_ticks),
        )
        goes = [
            a.both(
                wanted == way,
                a.no(a.any_of(me.resting, me.stopped_by_stall, at_end, waits)),
                a.any_of(may[way], known),
                room >= cost,
            )
            for way, at_end, room, cost in ways
        ]
        return a.either(goes[0], FIRST, a.either(goes[1], SECOND, STOPPED))

    def become(self, me: Memory, wanted: Any) -> None:
        a, function = self.a, self.function
        _, _, fast = self.told(me)
        runs, first, second = wanted != STOPPED, wanted == FIRST, wanted == SECOND
        strains = a.both(runs, fast)
        gives_up = a.both(strains, me.stalled >= function.stall_ticks)
        me.stopped_by_stall = a.any_of(me.stopped_by_stall, gives_up)
        held = a.either(gives_up, me.stalled, me.stalled + 1)
        me.stalled = a.either(strains, held, 0)
        if function.duty is not None:
            self.temper(me, function.duty, runs)
        me.motor = wanted
        me.still = a.either(runs, 0, a.least(me.still + 1, function.pause_ticks))
        me.turned_last = a.either(runs, wanted, me.turned_last)
        first_cost, second_cost = function.second_limit_ticks, function.first_limit_ticks
        back_to_first = a.least(me.first_room + second_cost, self.travel)
        back_to_second = a.least(me.second_room + first_cost, self.travel)
        me.first_room = a.either(
            first, me.first_room - first_cost, a.either(second, back_to_first, me.first_room)
        )
        me.second_room = a.either(
            second, me.second_room - second_cost, a.either(first, back_to_second, me.second_room)
        )

    def temper(self, me: Memory, duty: Duty, runs: Truth) -> None:
        """The motor grows warm while it runs and cools while it stands."""
        a = self.a
        warmth = a.either(runs, me.warmth + duty.warms, a.most(me.warmth - duty.cools, 0))
        hot, cold = a.both(runs, warmth >= duty.limit), a.both(a.no(runs), warmth == 0)
        me.resting = a.both(a.any_of(me.resting, hot), a.no(cold))
        me.warmth = warmth

    def state(self, me: Memory) -> Number:
        return me.motor

    def state_of(self, me: Memory, wanted: Any) -> Number:
        del me
        return wanted

    def kept(self, me: Memory) -> tuple[Truth, Number]:
        """What outlives the power: whether it knows its place, and the room its first way."""
        stands = me.motor == STOPPED
        known = self.a.both(stands, me.first_room + me.second_room == self.travel)
        return known, me.first_room

    def recall(self, me: Memory, kept: bytes) -> None:
        room = int.from_bytes(kept, "little")
        if room <= self.travel:
            me.first_room, me.second_room = room, self.travel - room

    def recalled(self, me: Memory) -> Truth:
        if self.function.unknown is None:
            return False
        nothing_else = [
            getattr(me, name) == 0
            for name in ("motor", "turned_last", "still", "warmth", "stalled")
        ]
        flags = [self.a.no(me.resting), self.a.no(me.stopped_by_stall)]
        rooms = [
            me.first_room >= 0,
            me.second_room >= 0,
            me.first_room + me.second_room == self.travel,
        ]
        return self.a.both(*rooms, *nothing_else, *flags)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        turns = bytes_as_word(me.motor, me.turned_last)
        fields = (turns, me.still, *words(me.first_room), *words(me.second_room))
        if self.function.type_name != "WinchMore":
            return fields
        rests = bytes_as_word(int(me.resting), int(me.stopped_by_stall))
        return (*fields, *words(me.warmth), me.stalled, rests, self.so_word(me))
