"""What flows in each branch of the tree: plainly added up, at worst, and at worst with one motor
held fast or one load just switched on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import Figure
from host_tools.electrical.tree import summed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from gen.plan import Plan
    from host_tools.electrical.consumers import Consumer
    from host_tools.electrical.figure import Input
    from host_tools.electrical.reachable import Allowed, Most
    from host_tools.electrical.tree import Share

PLAIN = "I = sum of all that hangs on it"
WORST = "I = sum of what rules, groups, pairs and controls let be on together"
BOUND = "I = a bound on what may be on together: there are too many ways to try them all"


@dataclass(frozen=True)
class Currents:
    """The sums of one branch. `surge` and `stalls` are None where no load says its own."""

    plain: Figure
    worst: Figure
    surge: Figure | None
    stalls: Figure | None

    @property
    def highest(self) -> Figure:
        """The worst with whatever comes on top for a moment."""
        every = [self.worst, *(one for one in (self.surge, self.stalls) if one is not None)]
        return max(every, key=lambda one: one.value)


class Summing:
    """Adds up shares by what one plan allows at once."""

    def __init__(self, plan: Plan, allowed: Allowed) -> None:
        self.plan = plan
        self.allowed = allowed

    def of(self, name: str, shares: Sequence[Share]) -> Currents:
        """The sums of a branch that carries these shares."""
        plain = summed(
            name, "plain sum", PLAIN, [share.of(share.consumer.draws) for share in shares]
        )
        return Currents(
            plain,
            self.worst(name, shares),
            self._with_one(name, shares, "worst with one just switched on", _surge),
            self._with_one(name, shares, "worst with one held fast", _stalls),
        )

    def worst(
        self,
        name: str,
        shares: Sequence[Share],
        what: str = "worst current",
        instead: tuple[Share, Input] | None = None,
    ) -> Figure:
        """The most that may flow at once; `instead` is one share whose current is another than
        what it draws."""

        def current(share: Share) -> Input:
            if instead is not None and share is instead[0]:
                return instead[1]
            return share.consumer.draws

        free = [share for share in shares if share.consumer.function is None]
        bound = [share for share in shares if share.consumer.function is not None]
        weights: dict[int, list[float]] = {}
        for share in bound:
            index = share.consumer.function
            assert index is not None  # noqa: S101 - sorted out above
            states = weights.setdefault(index, [0.0] * len(self.plan.functions[index].states))
            for state in share.consumer.states:
                states[state] += current(share).value * share.factor
        found = self.allowed.most(weights)
        on = [share for share in shares if _runs(share, found)]
        given = [share.of(current(share)) for share in on]
        if found.exact:
            return summed(name, what, WORST, given)
        total = found.value + sum(share.of(current(share)).value for share in free)
        return Figure(name, what, total, "A", BOUND, tuple(given), "Kirchhoff's current law")

    def _with_one(
        self,
        name: str,
        shares: Sequence[Share],
        what: str,
        more: Callable[[Consumer], Input | None],
    ) -> Figure | None:
        made = [
            self.worst(name, shares, what, (share, instead))
            for share in shares
            if (instead := more(share.consumer)) is not None
        ]
        return max(made, key=lambda one: one.value, default=None)


def _runs(share: Share, found: Most) -> bool:
    index = share.consumer.function
    return index is None or found.states.get(index) in share.consumer.states


def _surge(consumer: Consumer) -> Input | None:
    return consumer.surge


def _stalls(consumer: Consumer) -> Input | None:
    return consumer.stalls
