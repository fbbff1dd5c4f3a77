"""What the bench forces, as `host_tools/model/force.py` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import STATES_A_FORCE
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.part import Count, Flag, Part, Variable

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.part import Memory


class ForceEncoding(Part):
    """One function at a time: `function` counts from 1 on, 0 is none. `state` is what it is forced
    into, `begins` whether that is new, `barred` whether others keep it from that."""

    def __init__(self, a: Any, plan: Plan) -> None:
        super().__init__(a)
        self.most = [len(function.forces) for function in plan.functions]

    def variables(self) -> dict[str, Variable]:
        return {
            "function": Count(0, len(self.most), bits=8),
            "state": Count(0, max(self.most, default=1) - 1, bits=8),
            "begins": Flag(),
            "barred": Flag(),
        }

    def keeps(self, me: Memory) -> Truth:
        return self.a.any_of(is_known(self.a, self.most, me.function, me.state), me.function == 0)

    def look(self, me: Memory, function: Number, state: Number) -> None:
        """One tick, in which the bench says this."""
        a = self.a
        known = is_known(a, self.most, function, state)
        function, state = a.either(known, function, 0), a.either(known, state, 0)
        # It is off for a tick before another one may be forced, or none.
        lets_go = a.both(function != me.function, me.state != 0)
        function, state = a.either(lets_go, me.function, function), a.either(lets_go, 0, state)
        me.begins = a.any_of(function != me.function, state != me.state)
        me.function, me.state = function, state
        me.barred = False

    def read(self, reading: Number) -> tuple[Number, Number]:
        """The function and the state that a trace's column means."""
        function = self.a.divided(reading, STATES_A_FORCE)
        return function, reading - function * STATES_A_FORCE

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        return (
            bytes_as_word(me.function, me.state),
            bytes_as_word(int(me.begins), int(me.barred)),
        )


def is_known(a: Any, most: list[int], function: Number, state: Number) -> Truth:
    """Whether there is such a function, and such a force among those that it has."""
    return a.any_of(
        *(a.both(function == number, state < one) for number, one in enumerate(most, start=1))
    )
