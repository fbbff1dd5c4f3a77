"""How long a bench forces what, as `host_tools/link/simulated/bench.py` and the sketch's
`link/bench.h` have it: what the host may say, one line at a time, and a tick that goes by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from host_tools.link.simulated.bench import ARMED_TICKS, FORCED_TICKS, SILENT_TICKS
from host_tools.prove.encoding.force import is_known
from host_tools.prove.encoding.part import Count, Part, Variable

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.part import Memory


class BenchEncoding(Part):
    """Functions count from 1 on, 0 is none: which is `armed`, which is `forced` into which `state`.
    Both counts stop at the time that they are for."""

    def __init__(self, a: Any, plan: Plan) -> None:
        super().__init__(a)
        self.most = [len(function.forces) for function in plan.functions]

    def variables(self) -> dict[str, Variable]:
        functions = Count(0, len(self.most), bits=8)
        return {
            "armed": functions,
            "forced": functions,
            "state": Count(0, max(self.most, default=1) - 1, bits=8),
            "since_armed": Count(0, FORCED_TICKS, FORCED_TICKS),
            "silent": Count(0, SILENT_TICKS, bits=8),
        }

    def keeps(self, me: Memory) -> Truth:
        a = self.a
        in_time = a.both(me.since_armed < FORCED_TICKS, me.silent < SILENT_TICKS)
        return a.any_of(a.both(me.forced == 0, me.state == 0), in_time)

    def hear(self, me: Memory) -> None:
        """Any good line of the host's, before it is obeyed."""
        me.silent = 0

    def arm(self, me: Memory, function: Number) -> None:
        """`arm`."""
        a = self.a
        exists = a.both(function >= 1, function <= len(self.most))
        me.armed = a.either(exists, function, me.armed)
        me.since_armed = a.either(exists, 0, me.since_armed)

    def force(self, me: Memory, function: Number, state: Number) -> None:
        """`force`."""
        a = self.a
        armed = a.both(me.armed == function, me.since_armed < ARMED_TICKS)
        may = a.any_of(armed, me.forced == function)
        obeyed = a.both(is_known(a, self.most, function, state), state >= 0, may)
        me.forced = a.either(obeyed, function, me.forced)
        me.state = a.either(obeyed, state, me.state)

    def let_go(self, me: Memory, when: Truth = True) -> None:
        """`free`, and whatever else ends a force."""
        for name in ("armed", "forced", "state"):
            setattr(me, name, self.a.either(when, 0, getattr(me, name)))

    def tick(self, me: Memory, is_barred: Truth) -> None:
        """A tick goes by, in which other functions or a low battery may have kept what is forced
        from what it is forced into."""
        a = self.a
        me.silent = a.least(me.silent + 1, SILENT_TICKS)
        me.since_armed = a.least(me.since_armed + 1, FORCED_TICKS)
        over = a.any_of(me.silent == SILENT_TICKS, me.since_armed == FORCED_TICKS)
        self.let_go(me, a.any_of(is_barred, over))
