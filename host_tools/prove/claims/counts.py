"""No count of a function wraps into a wrong answer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.prove.claim import Claim
from host_tools.prove.counts import fits
from host_tools.prove.encoding.part import Count

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def count_claims(plan: Plan, index: int) -> Iterator[Claim]:
    """What is claimed of every function."""
    yield CountsStay(plan, (index,))


class CountsStay(Claim):
    """Everything that it remembers stays within its bounds, and the sketch has bits for it."""

    kind = "counts"

    @property
    def text(self) -> str:
        return f"no count of {self.name} wraps: each stays within its bounds"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        encoding, mine = system.exact[self.functions[0]], now.functions[self.functions[0]]
        bounds = [
            bound
            for name, one in encoding.variables().items()
            if isinstance(one, Count)
            for bound in (one.low <= getattr(mine, name), getattr(mine, name) <= one.high)
        ]
        return system.a.both(fits(encoding), *bounds)
