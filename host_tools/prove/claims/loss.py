"""What a function does while the signal of one of its controls is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Auto, Dimmer, Follow, Loss, Step, Toggle
from gen.behaviours.base import seconds
from gen.behaviours.dimmer import WHOLE_FADE
from gen.plan import OPEN, SERVO_FRACTION
from host_tools.prove.claim import Claim, Watched
from host_tools.prove.encoding.part import Count, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def loss_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function that obeys a control."""
    function = plan.functions[index]
    if not function.controls:
        return
    if function.on_loss is Loss.OFF:
        lingers = isinstance(function, Dimmer | Follow)
        yield (OffInTime if lingers else OffWhenLost)(plan, (index,))
    elif function.on_loss is Loss.ON:
        yield OnWhenLost(plan, (index,))
    elif not isinstance(function, Auto):
        yield StaysWhenLost(plan, (index,))


class LossClaim(Claim):
    """A claim about lost signals."""

    kind = "lost signal"

    @property
    def index(self) -> int:
        """The function."""
        return self.functions[0]

    def lost(self, system: System, now: Moment) -> Truth:
        """Whether any control that it is meant to obey has lost its channel, and nothing forces
        it."""
        a, controls = system.a, self.plan.functions[self.index].controls
        channels = {self.plan.controls[control].channel for control in controls}
        lost = a.any_of(*(now.lost(one) for one in sorted(channels)))
        return a.both(lost, a.no(now.forces(self.index)))


class OffWhenLost(LossClaim):
    """It is off in the very tick."""

    @property
    def text(self) -> str:
        function = self.plan.functions[self.index]
        return (
            f"{self.name} is {function.states[0]} as soon as its signal is lost{self.unless_forced}"
        )

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        return system.a.any_of(system.a.no(self.lost(system, now)), now.states[self.index] == 0)


class OnWhenLost(LossClaim, Watched):
    """It is on in the very tick, unless other functions keep it off."""

    @property
    def text(self) -> str:
        unless = "" if self._open else ", unless something else keeps it off"
        return f"{self.name} is on as soon as its signal is lost{unless}{self.unless_forced}"

    @property
    def _open(self) -> bool:
        return self.plan.functions[self.index].gate == OPEN

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a = system.a
        encoding = system.exact[self.index]
        lost = self.lost(system, now)
        on = self._is_on(system, now)
        kept_off: Truth = False
        if not self._open:
            # Whether anything that it looks at closes its gate, before or now.
            kept_off = a.any_of(
                *(truth for moment in (before, now) for truth in closes(encoding, moment, system))
            )
        me.fine = a.any_of(a.no(lost), on, kept_off)

    def _is_on(self, system: System, now: Moment) -> Truth:
        function = self.plan.functions[self.index]
        if isinstance(function, Dimmer):
            return now.functions[self.index].on
        del system
        return now.states[self.index] != 0

    def expected(self, before: Sequence[int]) -> str:
        del before
        return f"{self.name} on"


class StaysWhenLost(LossClaim, Watched):
    """It does not begin anything; what has only its states stays in the one that it is in."""

    @property
    def text(self) -> str:
        return (
            f"{self.name} stays as it is while its signal is lost, and never starts"
            f"{self.unless_forced}"
        )

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.index
        function = self.plan.functions[index]
        was, is_now = before.states[index], now.states[index]
        stays = is_now == was
        off = is_now == 0
        fine = a.any_of(stays, a.both(off, function.gate != OPEN))
        if isinstance(function, Follow):
            was, is_now = before.functions[index].target, now.functions[index].target
            rest = self.plan.servos[function.drives].rest_half_us
            fine = a.any_of(is_now == was, a.both(is_now == rest, function.gate != OPEN))
        elif isinstance(function, Dimmer):
            fine = a.any_of(a.no(now.functions[index].on), before.functions[index].on)
        elif not isinstance(function, Toggle | Step):
            fine = a.any_of(off, was != 0)  # a time may run out, a pattern goes on
        me.fine = a.any_of(a.no(self.lost(system, now)), fine)

    def expected(self, before: Sequence[int]) -> str:
        function = self.plan.functions[self.index]
        return f"{function.name} {function.states[before[self.index]]}"


class OffInTime(LossClaim):
    """What fades or moves is off or at rest within the time that takes."""

    @property
    def text(self) -> str:
        state = self.plan.functions[self.index].states[0]
        time = seconds(self._ticks)
        return f"{self.name} is {state} within {time} of its lost signal{self.unless_forced}"

    @property
    def _ticks(self) -> int:
        return -(-self._far // self._step)

    @property
    def _step(self) -> int:
        function = self.plan.functions[self.index]
        assert isinstance(function, Dimmer | Follow)  # noqa: S101 - loss_claims sees to it
        return function.down_per_256 if isinstance(function, Dimmer) else function.step_per_256

    @property
    def _far(self) -> int:
        """How far it can be from off or rest."""
        function = self.plan.functions[self.index]
        if isinstance(function, Dimmer):
            return WHOLE_FADE
        assert isinstance(function, Follow)  # noqa: S101 - loss_claims sees to it
        rest = self.plan.servos[function.drives].rest_half_us
        low, _, high = function.travel_half_us
        return max(abs(low - rest), abs(high - rest)) * SERVO_FRACTION

    def watches(self) -> dict[str, Variable]:
        return {"since": Count(0, self._ticks)}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        del before
        a = system.a
        me.since = a.either(self.lost(system, now), a.least(me.since + 1, self._ticks), 0)

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a = system.a
        left = a.most(self._far - me.since * self._step, 0)
        away = self._away(now)
        return a.both(away <= left, -left <= away)

    def _away(self, now: Moment) -> Any:
        function, mine = self.plan.functions[self.index], now.functions[self.index]
        if isinstance(function, Dimmer):
            return mine.level
        assert isinstance(function, Follow)  # noqa: S101 - loss_claims sees to it
        return mine.width - self.plan.servos[function.drives].rest_half_us * SERVO_FRACTION

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        return system.a.any_of(me.since < self._ticks, now.states[self.index] == 0)


def closes(encoding: Any, moment: Moment, system: System) -> list[Truth]:
    """What closes the gate of a function, by what is so at one moment."""
    a, gate = system.a, encoding.gate
    made = [a.no(encoding.holds(of, moment)) for of in gate.only_while]
    made += [encoding.holds(bar.of, moment) for bar in gate.bars]
    if gate.stage is not None:
        made.append(moment.functions[system_index(system, encoding)].shed)
    if gate.first or gate.both_is_stop:
        made.append(True)  # how long it has been so, or who else asks, is not seen from outside
    return made


def system_index(system: System, encoding: Any) -> int:
    """The index of an exact function."""
    return next(index for index, one in system.exact.items() if one is encoding)
