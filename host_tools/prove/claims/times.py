"""What runs by itself ends by itself."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Auto, Pulse
from gen.behaviours.base import seconds
from host_tools.prove.claim import Claim
from host_tools.prove.encoding.function import held
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def time_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function with a time."""
    function = plan.functions[index]
    if isinstance(function, Pulse):
        yield PulseEnds(plan, (index,))
    if isinstance(function, Auto) and function.longest_ticks and function.by_hand is None:
        yield AutoEnds(plan, (index,))


class PulseEnds(Claim):
    """A pulse ends unless it is asked for anew: it was pressed within its time."""

    kind = "time"

    @property
    def _pulse(self) -> Pulse:
        function = self.plan.functions[self.functions[0]]
        assert isinstance(function, Pulse)  # noqa: S101 - time_claims sees to it
        return function

    @property
    def text(self) -> str:
        time = seconds(self._pulse.duration_ticks)
        return (
            f"{self.name} goes off {time} after it was pressed last, at the latest"
            f"{self.unless_forced}"
        )

    def watches(self) -> dict[str, Variable]:
        # How long ago its control came to the position; more than any time before it ever did.
        long = self._pulse.duration_ticks + 1
        return {"ago": Count(0, long, long), "there": Flag()}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, ask = system.a, self._pulse.ask
        there = held(a, ask, now.controls)
        comes = a.both(there, a.no(me.there))
        me.ago = a.either(comes, 0, a.least(me.ago + 1, self._pulse.duration_ticks + 1))
        me.there = there

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a, mine = system.a, now.functions[self.functions[0]]
        there = held(a, self._pulse.ask, now.controls)
        # What is left of it and how long ago it was pressed are its time together.
        in_time = mine.left + me.ago <= self._pulse.duration_ticks
        together = a.any_of(mine.left == 0, in_time, now.forces_on(a, self.functions[0]))
        # While it is on because of a lost signal its time may have run out.
        lost = a.any_of(*(now.lost(channel) for channel in system.channels))
        runs = a.any_of(mine.on == (mine.left > 0), lost)
        spent = a.any_of(a.no(me.there), a.no(mine.ready))
        return a.both(together, spent, me.there == there, runs)

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        on = now.states[self.functions[0]] != 0
        lost = system.a.any_of(*(now.lost(channel) for channel in system.channels))
        forced = now.forces(self.functions[0])
        return system.a.any_of(system.a.no(on), me.ago < self._pulse.duration_ticks, lost, forced)


class AutoEnds(Claim):
    """One with a longest time never runs for longer."""

    kind = "time"

    @property
    def _auto(self) -> Auto:
        function = self.plan.functions[self.functions[0]]
        assert isinstance(function, Auto)  # noqa: S101 - time_claims sees to it
        return function

    @property
    def text(self) -> str:
        most = seconds(self._auto.longest_ticks)
        return f"{self.name} runs for {most} at a time at most{self.unless_forced}"

    def watches(self) -> dict[str, Variable]:
        return {"runs": Count(0, 4 * self._auto.longest_ticks)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, index = system.a, self.functions[0]
        on = a.both(now.states[index] != 0, a.no(now.forces(index)))
        more = a.least(me.runs + 1, 4 * self._auto.longest_ticks)
        me.runs = a.either(on, more, 0)

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        del system
        return me.runs <= now.functions[self.functions[0]].ran

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del system, now
        return me.runs <= self._auto.longest_ticks
