"""What is proved of a part by itself, one step at a time: from any memory that it may have."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import z3

from host_tools.prove.encoding.part import Memory
from host_tools.prove.induction import symbol, within

if TYPE_CHECKING:
    from host_tools.prove.encoding.part import Part
    from host_tools.prove.terms import Terms

SOLVER_MS = 10_000


@dataclass(frozen=True)
class Lemma:
    """What is claimed of a channel, control, sensor or bench, whether it is proved, and by what."""

    kind: str
    text: str
    source_line: int
    proved: bool
    how: str = "for any pulses, tick by tick"


def any_memory(part: Part, name: str) -> tuple[Memory, Memory]:
    """Any memory of a part, twice: to be kept and to be changed."""
    made = Memory(**{one: symbol(f"{name}.{one}", kind) for one, kind in part.variables().items()})
    return made, made.copy()


def inside(a: Terms, part: Part, me: Memory) -> Any:
    """Whether all that a part remembers is within its bounds."""
    return within(a, part.variables(), vars(me))


def follows(a: Terms, given: list[Any], then: Any) -> bool:
    """Whether one thing follows from others, for all numbers."""
    solver = z3.Solver()
    solver.set("timeout", SOLVER_MS)
    solver.add(*given, *a.bounds)
    solver.add(z3.Not(then) if not isinstance(then, bool) else z3.BoolVal(not then))
    return bool(solver.check() == z3.unsat)
