"""What functions have to say about each other, and the battery about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.behaviours import Dimmer, Follow
from gen.behaviours.base import seconds
from gen.behaviours.conditions import in_words
from gen.plan import Bar, First, StateOf
from host_tools.model.behaviours.follow import NEAR_REST_HALF_US
from host_tools.prove.claim import Claim, Watched
from host_tools.prove.encoding.function import is_so
from host_tools.prove.encoding.part import Count, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def gate_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function with a gate."""
    gate = plan.functions[index].gate
    for of in gate.only_while:
        yield OnlyWhile(plan, (index,), of)
    for bar in gate.bars:
        other = bar.of.function
        mutual = Bar(bar.of.states, StateOf(index, bar.states)) in plan.functions[other].gate.bars
        yield KeptOff(plan, (index,), bar)
        # Where it does not bind both sides, only one that stands earlier is seen in time.
        in_time = other < index and not plan.functions[index].lingers
        if index < other if mutual else in_time:
            yield NeverWith(plan, (index, other), bar)
    for first in gate.first:
        yield OnlyAfter(plan, (index,), first)
    for other in gate.both_is_stop:
        if index < other:
            yield NeverBoth(plan, (index, other))
    if gate.stage is not None:
        yield ShedWhenLow(plan, (index,))


def acts(a: Any, plan: Plan, index: int, moment: Moment) -> Truth:
    """Whether a function does something; of one that fades or moves, whether it is told to."""
    function, mine = plan.functions[index], moment.functions.get(index)
    if isinstance(function, Follow) and mine is not None:
        away = mine.target - plan.servos[function.drives].rest_half_us
        return a.any_of(away > NEAR_REST_HALF_US, -away > NEAR_REST_HALF_US)
    if isinstance(function, Dimmer) and mine is not None:
        return mine.lit
    return moment.states[index] != 0


def as_seen(index: int, of: StateOf, before: Moment, now: Moment) -> Moment:
    """The moment whose state of another function is what this one saw in its tick."""
    return now if of.function < index else before


@dataclass(frozen=True)
class OnlyWhile(Watched):
    """It is off unless something else is so."""

    of: StateOf
    kind = "only while"

    @property
    def text(self) -> str:
        return f"{self.name} only while {in_words(self.of, self.plan.functions)}"

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        so = is_so(a, self.of, as_seen(index, self.of, before, now).states)
        me.fine = a.any_of(so, a.no(acts(a, self.plan, index, now)))


@dataclass(frozen=True)
class NeverWith(Claim):
    """Two functions are never together in certain states."""

    bar: Bar
    kind = "never with"

    @property
    def text(self) -> str:
        mine = in_words(StateOf(self.functions[0], self.bar.states), self.plan.functions)
        return f"{mine} never with {in_words(self.bar.of, self.plan.functions)}"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        a, index = system.a, self.functions[0]
        mine, theirs = (
            a.both(is_so(a, of, now.states), acts(a, self.plan, of.function, now))
            for of in (StateOf(index, self.bar.states), self.bar.of)
        )
        return a.no(a.both(mine, theirs))


@dataclass(frozen=True)
class KeptOff(Watched):
    """The one that runs keeps the other off, and not the other way round."""

    bar: Bar
    kind = "never with"

    @property
    def text(self) -> str:
        mine = in_words(StateOf(self.functions[0], self.bar.states), self.plan.functions)
        return f"{mine} is kept off while {in_words(self.bar.of, self.plan.functions)} runs"

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        so = is_so(a, self.bar.of, as_seen(index, self.bar.of, before, now).states)
        mine = is_so(a, StateOf(index, self.bar.states), now.states)
        me.fine = a.no(a.both(so, mine, acts(a, self.plan, index, now)))


class NeverBoth(Claim):
    """Of a "both is stop" group never two run."""

    kind = "both is stop"

    @property
    def text(self) -> str:
        one, other = (self.plan.functions[index].name for index in self.functions)
        return f"{one} and {other} never run together"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        a = system.a
        return a.no(a.both(*(acts(a, self.plan, index, now) for index in self.functions)))


@dataclass(frozen=True)
class OnlyAfter(Watched):
    """It starts only once something else has been so for a time."""

    first: First
    kind = "first"

    @property
    def text(self) -> str:
        of, ticks = in_words(self.first.of, self.plan.functions), self.first.for_ticks
        has_been = f" for {seconds(ticks)}" if ticks else ""
        return f"{self.name} starts only once {of} has been so{has_been}"

    def watches(self) -> dict[str, Variable]:
        return super().watches() | {"since": Count(0, self.first.for_ticks)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index, of = system.a, self.functions[0], self.first.of
        so = is_so(a, of, as_seen(index, of, before, now).states)
        long_enough = a.both(so, me.since >= self.first.for_ticks)
        starts = a.both(before.states[index] == 0, now.states[index] != 0)
        if self.plan.functions[index].lingers:
            told = a.both(a.no(acts(a, self.plan, index, before)), acts(a, self.plan, index, now))
            starts = a.both(starts, told)
        me.fine = a.any_of(a.no(starts), long_enough)
        me.since = a.either(so, a.least(me.since + 1, self.first.for_ticks), 0)

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        del system
        index = self.functions[0]
        waits = [one for one in self.plan.functions[index].gate.first if one.for_ticks]
        if self.first not in waits:
            return True
        name = f"since{waits.index(self.first)}"
        return getattr(now.functions[index], name, me.since) == me.since


class ShedWhenLow(Claim):
    """It is off while the battery is low."""

    kind = "low battery"

    @property
    def text(self) -> str:
        return f"{self.name} is off while the battery is low"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        index = self.functions[0]
        stage = self.plan.functions[index].gate.stage
        assert stage is not None  # noqa: S101 - gate_claims sees to it
        low = now.stages[stage].low
        a = system.a
        return a.any_of(a.no(low), a.no(acts(a, self.plan, index, now)))
