"""That a function is never on: what is asked where nobody found a way to switch it on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.prove.claim import Claim

if TYPE_CHECKING:
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


class NeverOn(Claim):
    """It is never in any state but its first."""

    kind = "use"
    under_force = False

    @property
    def text(self) -> str:
        return f"{self.name} is never on"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del system, me
        return now.states[self.functions[0]] == 0
