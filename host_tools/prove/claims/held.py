"""What runs only while it is asked to, and what must be pressed anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Loss, Momentary, Pulse, Sequence, Toggle, Winch
from gen.plan import Ask
from host_tools.prove.claim import Claim, Watched
from host_tools.prove.encoding.function import held
from host_tools.prove.encoding.part import Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def held_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function that answers a held or a pressed key."""
    function = plan.functions[index]
    if isinstance(function, Winch | Momentary):
        yield OnlyWhileAsked(plan, (index,))
    if isinstance(function, Toggle | Pulse | Sequence):
        yield PressedAnew(plan, (index,))


class OnlyWhileAsked(Claim):
    """It runs only while its position is held; of two ways, while only one is."""

    kind = "held"

    @property
    def text(self) -> str:
        function = self.plan.functions[self.functions[0]]
        one = ", and both ways at once is stop" if isinstance(function, Winch) else ""
        lost = ", or its signal is lost" if function.on_loss is not Loss.OFF else ""
        return f"{self.name} runs only while its position is held{one}{lost}{self.unless_forced}"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        a, index = system.a, self.functions[0]
        function, state = self.plan.functions[index], now.states[index]
        off = a.any_of(state == 0, now.forces(index))
        if isinstance(function, Winch):
            first, second = (
                held(a, ask, now.controls) for ask in (function.first, function.second)
            )
            down = a.both(state == 1, first, a.no(second))
            up = a.both(state == 2, second, a.no(first))
            return a.any_of(off, down, up)
        assert isinstance(function, Momentary)  # noqa: S101 - held_claims sees to it
        lost = False
        if function.on_loss is not Loss.OFF:
            lost = now.lost(self.plan.controls[function.ask.control].channel)
        return a.any_of(off, held(a, function.ask, now.controls), lost)


class PressedAnew(Watched):
    """It starts again only after its control was at rest between two presses."""

    kind = "press"

    @property
    def text(self) -> str:
        return f"{self.name} is not set off twice by one press{self.unless_forced}"

    def watches(self) -> dict[str, Variable]:
        return super().watches() | {"rested": Flag()}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        function = self.plan.functions[index]
        assert isinstance(function, Toggle | Pulse | Sequence)  # noqa: S101 - held_claims sees to it
        control = function.ask.control
        planned = self.plan.controls[control]
        rests = held(a, Ask(control, planned.rest), now.controls)
        rested = a.any_of(me.rested, rests)
        starts = a.both(before.states[index] == 0, now.states[index] != 0, a.no(now.forces(index)))
        if function.on_loss is Loss.ON:
            starts = a.both(starts, a.no(now.lost(planned.channel)))
        me.fine = a.any_of(a.no(starts), rested)
        me.rested = a.both(rested, a.no(starts))

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        return system.a.any_of(system.a.no(now.functions[self.functions[0]].ready), me.rested)
