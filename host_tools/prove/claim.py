"""What a claim about a plan is: something that holds in every tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from host_tools.prove.encoding.part import Flag
from host_tools.prove.system import System, cone

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.plan import Plan
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.part import Memory, Variable
    from host_tools.prove.system import Moment


@dataclass(frozen=True)
class Claim:
    """Something that holds in every tick, of some functions of a plan.

    A claim may have a watch of its own: a memory that looks on and takes no part, so that it can
    say "for so long" and "since". `plan` is what was meant: the claim's times are its, whatever is
    proved about. `because` says how that memory and the functions' go together; it is proved along
    with the claim.
    """

    kind: ClassVar[str]
    """One word or two for what it is about: "pause", "run limit"."""

    under_force: ClassVar[bool] = True
    """Whether it is claimed while a bench forces functions, or only while it lets them be."""

    plan: Plan
    functions: tuple[int, ...]

    @property
    def text(self) -> str:
        """The claim in a sentence."""
        raise NotImplementedError

    @property
    def name(self) -> str:
        """The name of what it is about."""
        return self.plan.functions[self.functions[0]].name

    @property
    def source_line(self) -> int:
        """Where the ship file says so."""
        return self.plan.functions[self.functions[0]].source_line

    @property
    def unless_forced(self) -> str:
        """What a claim says of a ship with a bench that holds unless its function is forced."""
        return ", unless a bench forces it" if self.plan.bench is not None else ""

    def reaches(self, plan: Plan) -> frozenset[int]:
        """Its functions and all that they depend on in `plan`, or are meant to."""
        return cone(plan, self.functions) | cone(self.plan, self.functions)

    def system(self, a: Any, plan: Plan, exact: Iterable[int], *, forces: bool = True) -> System:
        """The system that it is held against: `exact` functions of `plan`; without `forces` one
        whose bench forces nothing."""
        return System(a, plan, exact, self.plan, forces=forces and self.under_force)

    def watches(self) -> dict[str, Variable]:
        """What its watch remembers."""
        return {}

    def watch(self, system: System, me: Memory, before: Moment, now: Moment) -> None:
        """Its watch sees a tick."""

    def because(self, system: System, me: Memory, now: Moment) -> Truth:
        """How what the watch remembers goes together with the rest."""
        del system, me, now
        return True

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        """Whether it holds now."""
        raise NotImplementedError

    def expected(self, before: Any) -> str:
        """What a trial expects where it does not hold: "davit stopped"; `before` are all functions'
        states in the tick before."""
        del before
        function = self.plan.functions[self.functions[0]]
        return f"{function.name} {function.states[0]}"


class Watched(Claim):
    """A claim about what happens from one tick to the next: its watch says whether it is `fine`."""

    def watches(self) -> dict[str, Variable]:
        return {"fine": Flag(start=True)}

    def holds(self, system: System, me: Memory, now: Moment) -> Truth:
        del system, now
        return me.fine
