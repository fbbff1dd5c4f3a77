"""Where the load of a winch hangs: nobody knows after power went while it ran."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Winch
from host_tools.model.behaviours.winch import FIRST, SECOND, STOPPED
from host_tools.prove.claim import Claim, Watched
from host_tools.prove.claims.winch import WinchClaim
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def place_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a winch that keeps its place over power-off."""
    function = plan.functions[index]
    if not isinstance(function, Winch) or function.unknown is None:
        return
    if not all(function.unknown):
        yield FindsItsPlaceFirst(plan, (index,))
    yield PlaceIsKept(plan, (index,))


class PlaceClaim(WinchClaim):
    """One with a watch that reckons for itself how far the load can be from each end: from what was
    kept at power-up, from what has run since, and from end switches."""

    kind = "unknown"

    @property
    def _travel(self) -> int:
        return self.winch.first_limit_ticks * self.winch.second_limit_ticks

    def watches(self) -> dict[str, Variable]:
        room = Count(0, self._travel, self._travel)
        return {"runs": Flag(), "first": room, "second": room}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        was = before.functions[index]
        first = a.either(me.runs, me.first, was.first_room)
        second = a.either(me.runs, me.second, was.second_room)
        if self.winch.ends != (None, None):
            only_first, only_second = system.exact[index].found(  # type: ignore[attr-defined]  # a winch's
                now.functions[index], was.turned_last
            )
            first = a.either(only_first, 0, a.either(only_second, self._travel, first))
            second = a.either(only_second, 0, a.either(only_first, self._travel, second))
        a_tick = {FIRST: self.winch.second_limit_ticks, SECOND: self.winch.first_limit_ticks}
        motor = self.motor(now)
        self.moves(system, me, now, first + second == self._travel)
        me.first = self._after(a, motor, first, a_tick, FIRST)
        me.second = self._after(a, motor, second, a_tick, SECOND)
        me.runs = True

    def _after(self, a: Any, motor: Any, room: Any, a_tick: dict[int, int], way: int) -> Any:
        """What is left of the room one way, after a tick."""
        other = FIRST + SECOND - way
        less, more = a.most(room - a_tick[way], 0), a.least(room + a_tick[other], self._travel)
        return a.either(motor == way, less, a.either(motor == other, more, room))

    def moves(self, system: System, me: Memory, now: Moment, known: Truth) -> None:
        """Looks at which way it turns, and whether its place was known before."""

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a, mine = system.a, now.functions[self.functions[0]]
        alike = a.both(me.first == mine.first_room, me.second == mine.second_room)
        return a.any_of(a.no(me.runs), alike)


class FindsItsPlaceFirst(PlaceClaim, Watched):
    """Until it has been at an end it runs only the ways that the ship file calls safe."""

    @property
    def text(self) -> str:
        safe = [state for state, may in zip(self.winch.states[1:], self._may, strict=True) if may]
        allowed = " or ".join([self.winch.states[0], *safe])
        return (
            f"{self.name}: where nobody knows its place, as after a power cut while it ran, it is"
            f" {allowed} until it has found an end"
        )

    @property
    def _may(self) -> tuple[bool, bool]:
        assert self.winch.unknown is not None  # noqa: S101 - place_claims sees to it
        return self.winch.unknown

    def watches(self) -> dict[str, Variable]:
        return PlaceClaim.watches(self) | Watched.watches(self)

    def moves(self, system: System, me: Memory, now: Moment, known: Truth) -> None:
        a, motor = system.a, self.motor(now)
        ways = zip((FIRST, SECOND), self._may, strict=True)
        safe = [motor == way for way, may in ways if may]
        me.fine = a.any_of(known, motor == STOPPED, *safe)


class PlaceIsKept(PlaceClaim):
    """What would be found after a power cut is its place, and only while it stands."""

    @property
    def text(self) -> str:
        return (
            f"{self.name}: a power cut while it runs, or before it knew its place, leaves that"
            " unknown"
        )

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        a, index = system.a, self.functions[0]
        kept, room = system.exact[index].kept(now.functions[index])  # type: ignore[attr-defined]  # a winch's
        stands = a.both(self.motor(now) == STOPPED, me.first + me.second == self._travel)
        return a.any_of(a.no(kept), a.both(stands, room == me.first))
