"""Step: the next of a list of states at each press; what is wanted of it is a state."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Loss, Step
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.function import FunctionEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class StepEncoding(FunctionEncoding[Step]):
    """As `StepModel`."""

    @property
    def last(self) -> int:
        """Its last state."""
        return len(self.function.names) - 1

    def memory(self) -> dict[str, Variable]:
        return {"at": Count(0, self.last, bits=8), "ready": Flag(), "ready_back": Flag()}

    def asked(self, me: Memory, see: Seen) -> Any:
        a, wanted = self.a, me.at
        ways = ((self.function.ask, 1, "ready"), (self.function.back, -1, "ready_back"))
        for ask, by, name in ways:
            if ask is None:
                continue
            end, other_end = (self.last, 0) if by > 0 else (0, self.last)
            beyond = other_end if self.function.wraps else end
            moved = a.either(wanted == end, beyond, wanted + by)
            wanted = a.either(self.pressed(me, ask, see, name), moved, wanted)
        return wanted

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del wanted
        return me.at if self.function.on_loss is Loss.KEEP else 0

    def become(self, me: Memory, wanted: Any) -> None:
        me.at = wanted

    def state(self, me: Memory) -> Number:
        return me.at

    def levels(self, me: Memory) -> tuple[int, ...]:
        return self.function.duties[me.at]

    def recall(self, me: Memory, kept: bytes) -> None:
        me.at = kept[0] if kept[0] <= self.last else 0

    def recalled(self, me: Memory) -> Truth:
        if not self.function.remember:
            return False
        unready = self.a.no(me.ready), self.a.no(me.ready_back)
        return self.a.both(0 <= me.at, me.at <= self.last, *unready)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        return (bytes_as_word(me.at, int(me.ready) | int(me.ready_back) << 1),)
