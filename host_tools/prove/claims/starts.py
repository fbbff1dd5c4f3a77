"""Nothing starts before a control of its own was seen at rest."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Auto, Dimmer, Follow, Loss, Rhythm
from gen.behaviours.trigger import When
from host_tools.prove.claim import Watched
from host_tools.prove.encoding.part import Flag, Variable

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.claim import Claim
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def start_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function that starts by a thumb."""
    function = plan.functions[index]
    by_itself = isinstance(function, Auto) or (
        isinstance(function, Rhythm | Dimmer)
        and function.trigger.when not in (When.PRESSED, When.HELD)
    )
    if function.controls and not by_itself:
        yield AtRestFirst(plan, (index,))


class AtRestFirst(Watched):
    """At power-up and when the signal returns nothing starts before a control was at rest."""

    kind = "at rest first"

    @property
    def text(self) -> str:
        return (
            f"{self.name} does not start, after power-up or a lost signal, before its control was"
            f" seen at rest{self.unless_forced}"
        )

    def watches(self) -> dict[str, Variable]:
        controls = self.plan.functions[self.functions[0]].controls
        rested: dict[str, Variable] = {f"rested{control}": Flag() for control in controls}
        return rested | super().watches()

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        function = self.plan.functions[index]
        seen = []
        for control in function.controls:
            planned = self.plan.controls[control]
            lost = now.lost(planned.channel)
            rests = now.controls[control].position == planned.rest
            rested = a.both(a.no(lost), a.any_of(getattr(me, f"rested{control}"), rests))
            setattr(me, f"rested{control}", rested)
            seen.append(rested)
        starts = a.both(a.no(self._acts(before)), self._acts(now))
        lights_up: Truth = False
        if function.on_loss is Loss.ON:
            channels = {self.plan.controls[control].channel for control in function.controls}
            lights_up = a.any_of(*(now.lost(channel) for channel in sorted(channels)))
        me.fine = a.any_of(a.no(starts), *seen, lights_up, now.forces(index))

    def _acts(self, moment: Moment) -> Truth:
        """Whether it does something, or is on its way to: what fades or moves lags behind."""
        index = self.functions[0]
        function, mine = self.plan.functions[index], moment.functions[index]
        if isinstance(function, Follow):
            return mine.target != self.plan.servos[function.drives].rest_half_us
        if isinstance(function, Dimmer):
            return mine.on
        return moment.states[index] != 0

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        a = system.a
        return a.both(
            *(
                a.any_of(a.no(now.controls[control].armed), getattr(me, f"rested{control}"))
                for control in self.plan.functions[self.functions[0]].controls
            )
        )
