"""What the sums of currents believe: that some states of two functions never come together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.reachable import Allowed, excluded
from host_tools.prove.claim import Claim
from host_tools.prove.claims.working import NeverOn

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory
    from host_tools.prove.system import Moment, System


def current_claims(plan: Plan) -> Iterator[Claim]:
    """All that `host_tools/electrical/reachable.py` believes of a plan."""
    found: dict[tuple[int, int, bool], dict[tuple[int, int], None]] = {}
    for one, other, together, by_key in excluded(plan.functions):
        found.setdefault((one, other, by_key), {}).update(dict.fromkeys(together))
    for (one, other, by_key), pairs in found.items():
        if pairs:
            yield Apart(plan, (one, other), tuple(pairs), by_key)
    for index in Allowed(plan).never_on:
        yield NeverOn(plan, (index,))


@dataclass(frozen=True)
class Apart(Claim):
    """Two functions are never together in any of some `pairs` of their states; where it is one
    control's doing (`by_key`), unless a bench forces one of them."""

    pairs: tuple[tuple[int, int], ...]
    by_key: bool
    kind = "current"

    @property
    def text(self) -> str:
        one, other = (self.plan.functions[index] for index in self.functions)
        told = [f"{one.states[a]} with {other.states[b]}" for a, b in self.pairs]
        unless = self.unless_forced if self.by_key else ""
        return f"{one.name} and {other.name} never come together ({', '.join(told)}){unless}"

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del me
        a, (one, other) = system.a, self.functions
        mine, theirs = now.states[one], now.states[other]
        together = a.any_of(*(a.both(mine == x, theirs == y) for x, y in self.pairs))
        forced = a.any_of(now.forces(one), now.forces(other)) if self.by_key else False
        return a.any_of(a.no(together), forced)

    def expected(self, before: tuple[int, ...]) -> str:
        del before
        function = self.plan.functions[self.functions[1]]
        never = {theirs for _, theirs in self.pairs}
        calm = next(state for state in range(len(function.states)) if state not in never)
        return f"{function.name} {function.states[calm]}"
