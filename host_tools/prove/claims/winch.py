"""A motor that turns two ways: never both, never without a pause, never past its travel, never hot,
never against an end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Winch
from gen.behaviours.base import seconds
from gen.plan import Felt
from host_tools.model.behaviours.winch import FIRST, SECOND, STOPPED
from host_tools.prove.claim import Claim, Watched
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.behaviours.winch import Duty
    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def winch_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a winch."""
    function = plan.functions[index]
    if not isinstance(function, Winch):
        return
    yield NeverBothWays(plan, (index,))
    yield PauseBetween(plan, (index,))
    yield WithinTravel(plan, (index,))
    if function.duty is not None:
        yield RestsWhenHot(plan, (index,))
    if any(isinstance(end, Felt) for end in function.ends):
        yield StopsAtEnds(plan, (index,))
    if isinstance(function.stall, Felt):
        yield StopsWhenHeldFast(plan, (index,))


class WinchClaim(Claim):
    """A claim about a winch."""

    @property
    def winch(self) -> Winch:
        """The winch that is meant."""
        function = self.plan.functions[self.functions[0]]
        assert isinstance(function, Winch)  # noqa: S101 - winch_claims sees to it
        return function

    def motor(self, now: Moment) -> Any:
        """Which way it turns."""
        return now.states[self.functions[0]]


class NeverBothWays(WinchClaim):
    """The two lines of its pair are never on together."""

    kind = "one way"

    @property
    def text(self) -> str:
        return f"{self.name} never turns both ways at once"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        index = self.functions[0]
        lines = system.exact[index].lines_on(now.functions[index])
        return system.a.no(system.a.both(*lines.values()))


class PauseBetween(WinchClaim, Watched):
    """Between one way and the other it stands still."""

    kind = "pause"

    @property
    def text(self) -> str:
        pause = seconds(self.winch.pause_ticks)
        return f"{self.name} stands for {pause} at least before it turns the other way"

    def watches(self) -> dict[str, Variable]:
        pause = self.winch.pause_ticks
        return super().watches() | {"turned": Count(0, SECOND), "stood": Count(0, pause)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, motor = system.a, self.motor(now)
        runs = motor != STOPPED
        turns = a.both(runs, motor != me.turned)
        first = me.turned == STOPPED
        me.fine = a.any_of(a.no(turns), first, me.stood >= self.winch.pause_ticks)
        me.turned = a.either(runs, motor, me.turned)
        me.stood = a.either(runs, 0, a.least(me.stood + 1, self.winch.pause_ticks))

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        mine = now.functions[self.functions[0]]
        return system.a.both(me.turned == mine.turned_last, me.stood == mine.still)


class WithinTravel(WinchClaim):
    """It never runs further from where it was than its whole travel."""

    kind = "run limit"

    @property
    def text(self) -> str:
        winch = self.winch
        limits = zip(winch.ways, (winch.first_limit_ticks, winch.second_limit_ticks), strict=True)
        told = ", ".join(f"{way} {seconds(ticks)}" for way, ticks in limits)
        return f"{self.name} never runs past its limits ({told}), however it is worked"

    @property
    def _travel(self) -> int:
        return self.winch.first_limit_ticks * self.winch.second_limit_ticks

    def watches(self) -> dict[str, Variable]:
        most = 4 * self._travel
        return {"down": Count(0, most), "up": Count(0, most)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, motor, index = system.a, self.motor(now), self.functions[0]
        first, second, cap = motor == FIRST, motor == SECOND, 4 * self._travel
        first_cost, second_cost = self.winch.second_limit_ticks, self.winch.first_limit_ticks
        down, up = me.down, me.up
        if self.winch.ends != (None, None):
            # At an end switch it knows where it is, unless it has turned away from there: a switch
            # that has stuck gives nothing back.
            only_first, only_second = system.exact[index].found(  # type: ignore[attr-defined]  # a winch's
                now.functions[index], before.functions[index].turned_last
            )
            down = a.either(only_second, 0, a.either(only_first, self._travel, down))
            up = a.either(only_first, 0, a.either(only_second, self._travel, up))
        forth, back = a.least(down + first_cost, cap), a.most(down - second_cost, 0)
        me.down = a.either(first, forth, a.either(second, back, down))
        forth, back = a.least(up + second_cost, cap), a.most(up - first_cost, 0)
        me.up = a.either(second, forth, a.either(first, back, up))

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        mine = now.functions[self.functions[0]]
        return system.a.both(
            me.down + mine.first_room <= self._travel, me.up + mine.second_room <= self._travel
        )

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del now
        return system.a.both(me.down <= self._travel, me.up <= self._travel)


class RestsWhenHot(WinchClaim, Watched):
    """Once it has run for as long as it may, it rests for as long as it must."""

    kind = "rest"

    @property
    def _duty(self) -> Duty:
        assert self.winch.duty is not None  # noqa: S101 - winch_claims sees to it
        return self.winch.duty

    @property
    def text(self) -> str:
        run, rest = seconds(self._duty.run_ticks), seconds(self._duty.rest_ticks)
        return f"{self.name} runs for {run} at a time at most, and rests for {rest} then"

    def watches(self) -> dict[str, Variable]:
        heat = Count(0, 4 * self._duty.limit)
        return super().watches() | {"heat": heat, "hot": Flag()}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, duty = system.a, self._duty
        runs = self.motor(now) != STOPPED
        me.fine = a.no(a.both(me.hot, runs))
        warmer = a.least(me.heat + duty.warms, 4 * duty.limit)
        me.heat = a.either(runs, warmer, a.most(me.heat - duty.cools, 0))
        cold = a.both(a.no(runs), me.heat == 0)
        me.hot = a.both(a.any_of(me.hot, a.both(runs, me.heat >= duty.limit)), a.no(cold))

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a, mine = system.a, now.functions[self.functions[0]]
        return a.both(me.heat <= mine.warmth, a.any_of(a.no(me.hot), mine.resting))


class StopsAtEnds(WinchClaim):
    """It never runs towards an end that says it is reached."""

    kind = "end"

    @property
    def text(self) -> str:
        return f"{self.name} never runs on where its end switch says it is"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        a, motor = system.a, self.motor(now)
        first, second = (
            system.exact[self.functions[0]].holds(end, now) if isinstance(end, Felt) else False
            for end in self.winch.ends
        )
        return a.no(a.any_of(a.both(motor == FIRST, first), a.both(motor == SECOND, second)))


class StopsWhenHeldFast(WinchClaim):
    """It gives up when its motor is held fast."""

    kind = "stall"

    @property
    def text(self) -> str:
        ticks = seconds(self.winch.stall_ticks + 1)
        return f"{self.name} strains for {ticks} at most when it is held fast"

    def watches(self) -> dict[str, Variable]:
        return {"strained": Count(0, 4 * self.winch.stall_ticks + 4)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a, index = system.a, self.functions[0]
        assert self.winch.stall is not None  # noqa: S101 - winch_claims sees to it
        fast = system.exact[index].holds(self.winch.stall, now)
        strains = a.both(fast, self.motor(now) != STOPPED)
        most = 4 * self.winch.stall_ticks + 4
        me.strained = a.either(strains, a.least(me.strained + 1, most), 0)

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a, mine = system.a, now.functions[self.functions[0]]
        gives_up = a.both(mine.stopped_by_stall, me.strained <= mine.stalled + 1)
        return a.any_of(me.strained <= mine.stalled, gives_up)

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del system, now
        return me.strained <= self.winch.stall_ticks + 1
