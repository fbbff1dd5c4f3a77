"""What a function depends on: others whose states it looks at, near and far, and winches of which
it only matters whether they are asked for anything, which depends on their keys alone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.behaviours import Winch
from host_tools.model.behaviours.winch import STOPPED

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.encoding.behaviours.winch import WinchEncoding
    from host_tools.prove.encoding.function import Seen


@dataclass(frozen=True)
class Reach:
    """Indices of functions: those whose whole behaviour counts, and those that only ask."""

    exact: frozenset[int]
    askers: frozenset[int] = frozenset()

    @property
    def every(self) -> frozenset[int]:
        """All of them."""
        return self.exact | self.askers


def reach_of(plan: Plan, index: int) -> Reach:
    """What counts for one function, itself included."""
    exact: set[int] = set()
    asking: set[int] = set()
    edge = {index}
    while edge:
        exact |= edge
        asking |= {a for one in edge for a in asked_only(plan, one)}
        edge = {seen for one in edge for seen in looked_at(plan, one)} - exact
    return Reach(frozenset(exact), frozenset(asking - exact))


def looked_at(plan: Plan, index: int) -> frozenset[int]:
    """The functions of which it matters to this one what they remember."""
    function = plan.functions[index]
    return function.watched | frozenset(function.gate.both_is_stop) - asked_only(plan, index)


def asked_only(plan: Plan, index: int) -> frozenset[int]:
    """Those of its "both is stop" groups that ask as their keys are, whatever happened before."""
    function = plan.functions[index]
    return frozenset(
        one for one in function.gate.both_is_stop if isinstance(plan.functions[one], Winch)
    )


class Asker:
    """A winch of which it only matters whether it is asked for anything."""

    def __init__(self, winch: WinchEncoding) -> None:
        self.winch = winch

    @property
    def gate(self) -> Any:
        """Its own."""
        return self.winch.gate

    def ask(self, me: Any, index: int, see: Seen) -> None:
        """What its keys say while they are heard."""
        lost = self.winch.signal_lost(see)
        see.asked[index] = self.winch.a.either(lost, STOPPED, self.winch.asked(me, see))

    def run(self, me: Any, index: int, see: Seen) -> None:
        """Nobody looks at what it becomes."""
