"""Pulse: on for a fixed time at each press."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Loss, Pulse
from host_tools.model.behaviours.base import words
from host_tools.prove.encoding.function import SwitchedEncoding
from host_tools.prove.encoding.part import Count, Variable

if TYPE_CHECKING:
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class PulseEncoding(SwitchedEncoding[Pulse]):
    """As `PulseModel`."""

    def memory(self) -> dict[str, Variable]:
        return super().memory() | {"left": Count(0, self.function.duration_ticks, bits=32)}

    def asked(self, me: Memory, see: Seen) -> Any:
        a = self.a
        pressed = self.pressed(me, self.function.ask, see)
        left = a.most(me.left - 1, 0)
        me.left = a.either(a.both(pressed, left == 0), self.function.duration_ticks, left)
        return me.left > 0

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        return wanted if self.function.on_loss is Loss.KEEP else super().when_lost(me, wanted)

    def as_forced(self, me: Memory, force: Memory) -> Any:
        a = self.a
        fresh = a.both(force.begins, me.left == 0)
        me.left = a.either(fresh, self.function.duration_ticks, me.left)
        return a.both(force.state != 0, me.left > 0)

    def become(self, me: Memory, wanted: Any) -> None:
        super().become(me, wanted)
        me.left = self.a.either(wanted, me.left, 0)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        return (*super().behaviour_words(me), *words(me.left))
