"""Rhythm: on and off in a pattern; what is wanted of it is whether it runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Loss, Rhythm
from gen.behaviours.trigger import When
from host_tools.model.behaviours.rhythm import OFF, ON, PAUSING
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.behaviours.trigger import triggered
from host_tools.prove.encoding.function import OnOffEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class RhythmEncoding(OnOffEncoding[Rhythm]):
    """As `RhythmModel`."""

    @property
    def once(self) -> bool:
        """Whether the pattern comes once."""
        return not self.function.repeats

    def memory(self) -> dict[str, Variable]:
        phases = self.function.phases_ticks
        return {
            "running": Flag(),
            "on": Flag(),
            "ready": Flag(),
            "phase": Count(0, len(phases)),
            "left": Count(0, max(phases)),
        }

    def keeps(self, me: Memory) -> Truth:
        # On is only what runs; what repeats never stands behind its last phase.
        a, last = self.a, len(self.function.phases_ticks) - int(self.function.repeats)
        return a.both(a.any_of(me.running, a.no(me.on)), me.phase <= last)

    def asked(self, me: Memory, see: Seen) -> Any:
        trigger = self.function.trigger
        return triggered(self, trigger, me, see, me.running, by_itself=self.once)

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del wanted
        loss = self.function.on_loss
        return me.running if loss is Loss.KEEP else loss is Loss.ON

    def as_forced(self, me: Memory, force: Memory) -> Any:
        a = self.a
        if not self.function.keeps_phase:
            me.phase = a.either(force.begins, -1, me.phase)  # one before the first
            me.left = a.either(force.begins, 0, me.left)
        return a.both(force.state != 0, a.any_of(force.begins, me.running))

    def become(self, me: Memory, wanted: Any) -> None:
        a, phases = self.a, self.function.phases_ticks
        begins = a.both(wanted, a.no(me.running))
        phase, left = self._advanced(me)
        if self.function.keeps_phase:
            fresh = me.left == 0
            me.phase = a.either(fresh, me.phase, phase)
            me.left = a.either(fresh, phases[0], left)
        else:
            me.phase = a.either(a.both(wanted, a.no(begins)), phase, 0)
            me.left = a.either(begins, phases[0], a.either(wanted, left, 0))
        me.running = wanted
        count = len(phases)
        over = me.phase == count
        first_on = int(not self.function.begins_on)
        turns = [int(number % 2 == first_on) for number in range(count)] + [0]
        me.on = a.both(me.running, a.lookup(me.phase, turns) == 1)
        if self.once and self.function.trigger.when is When.PRESSED:
            me.running = a.both(me.running, a.no(over))
            me.phase = a.either(over, 0, me.phase)

    def _advanced(self, me: Memory) -> tuple[Number, Number]:
        """The phase a tick later, and what is left of it."""
        a, phases = self.a, self.function.phases_ticks
        count = len(phases)
        following = a.least(me.phase + 1, count)
        if self.function.repeats:
            following = a.either(following == count, 0, following)
        fresh = a.lookup(following, [*phases, 0])
        stays = me.left > 1
        return a.either(stays, me.phase, following), a.either(stays, me.left - 1, fresh)

    def state(self, me: Memory) -> Number:
        return self.a.either(me.running, self.a.either(me.on, ON, PAUSING), OFF)

    def lines_on(self, me: Memory) -> dict[int, Truth]:
        return {self.function.drives: me.on}

    def recall(self, me: Memory, kept: bytes) -> None:
        if kept == b"\x01":
            me.running, me.phase, me.left = True, len(self.function.phases_ticks) - 1, 1

    def recalled(self, me: Memory) -> Truth:
        if not self.function.remember:
            return False
        last = len(self.function.phases_ticks) - 1
        flags = [me.running, self.a.no(me.on), self.a.no(me.ready)]
        return self.a.both(*flags, me.phase == last, me.left == 1)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        told = bytes_as_word(self.so_word(me), int(me.running))
        return (told, bytes_as_word(int(me.ready), int(me.on)), me.phase, me.left)
