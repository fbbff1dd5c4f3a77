"""What a bench forces: nothing goes on, or comes back, because of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.prove.claim import Watched
from host_tools.prove.claims.gates import acts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.claim import Claim
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def forced_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of a function that a bench may force."""
    if plan.bench is not None:
        yield NothingGoesOn(plan, (index,))


class NothingGoesOn(Watched):
    """A force ends with a tick in which its function is off. From then on whatever else is claimed
    of it holds: it starts as ever, by its controls."""

    kind = "force"

    @property
    def text(self) -> str:
        function = self.plan.functions[self.functions[0]]
        return (
            f"{self.name} is {function.states[0]} before a force on it has ended, and does not go"
            " on because of it"
        )

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        a, index = system.a, self.functions[0]
        ended = a.both(before.forces(index), a.no(now.forces(index)))
        me.fine = a.no(a.both(ended, acts(a, self.plan, index, before)))
