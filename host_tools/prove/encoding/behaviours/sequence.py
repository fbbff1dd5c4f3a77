"""Sequence: several lines driven one after another; what is wanted of it is a leg, 0 for none."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Loss, Sequence
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.function import FunctionEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from host_tools.prove.algebra import Number
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class SequenceEncoding(FunctionEncoding[Sequence]):
    """As `SequenceModel`."""

    def memory(self) -> dict[str, Variable]:
        legs = self.function.legs
        most = max((leg.ticks for leg in legs), default=0)
        return {"leg": Count(0, len(legs), bits=8), "left": Count(0, most), "ready": Flag()}

    def asked(self, me: Memory, see: Seen) -> Any:
        a, function = self.a, self.function
        pressed = self.pressed(me, function.ask, see)
        wanted: Number = a.count(pressed)
        for number, leg in enumerate(function.legs, start=1):
            came = False if leg.until is None else getattr(me, f"so{leg.until}")
            over = me.left <= 1 if leg.ticks else False
            following = number + 1 if number < len(function.legs) else 0
            late = 0 if leg.aborts else following
            then = a.either(came, following, a.either(over, late, number))
            wanted = a.either(me.leg == number, then, wanted)
        return a.either(self.held(function.abort, see), 0, wanted)

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        keeps = self.function.on_loss is Loss.KEEP
        return self.a.either(me.leg != 0, wanted, 0) if keeps else 0

    def as_forced(self, me: Memory, force: Memory) -> Any:
        a, legs = self.a, self.function.legs
        shown = [self.function.shown.index(leg.on) + 1 for leg in legs]
        states = range(1, len(self.function.states))
        first = a.lookup(force.state, [0, *(shown.index(state) + 1 for state in states)])
        has_time = a.lookup(me.leg, [0, *(leg.ticks for leg in legs)]) != 0
        over = a.both(has_time, me.left <= 1)
        goes_on = a.either(over, 0, me.leg)
        return a.either(force.state == 0, 0, a.either(force.begins, first, goes_on))

    def become(self, me: Memory, wanted: Any) -> None:
        a = self.a
        fresh = a.lookup(wanted, [0, *(leg.ticks for leg in self.function.legs)])
        goes_on = a.most(me.left - 1, 0)
        me.left = a.either(wanted == 0, 0, a.either(wanted != me.leg, fresh, goes_on))
        me.leg = wanted

    def state(self, me: Memory) -> Number:
        return self.state_of(me, me.leg)

    def state_of(self, me: Memory, wanted: Any) -> Number:
        del me
        shown = self.function.shown
        states = [0, *(shown.index(leg.on) + 1 for leg in self.function.legs)]
        return self.a.lookup(wanted, states)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        return (self.so_word(me), bytes_as_word(me.leg, int(me.ready)), me.left)
