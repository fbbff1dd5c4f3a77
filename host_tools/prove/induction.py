"""k-induction: what holds in the first k ticks, and in a tick whenever it held in the k before,
holds for ever.

After Sheeran, Singh and Stålmarck, "Checking Safety Properties Using Induction and a SAT-Solver"
(FMCAD 2000).
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import z3

from host_tools.prove.encoding.part import Flag
from host_tools.prove.system import watch_of, watch_variables
from host_tools.prove.terms import Terms

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.plan import Plan
    from host_tools.prove.claim import Claim
    from host_tools.prove.encoding.part import Variable
    from host_tools.prove.system import System, Values

MOST_STEPS = 4
"""How far k grows before a claim is looked for in another way."""

SOLVER_MS = 20_000
"""How long the solver may think about one question."""


@dataclass(frozen=True)
class Proof:
    """How a claim was proved: by induction over `k` ticks, with these functions written exactly."""

    k: int
    exact: frozenset[int]
    seconds: float


def prove(
    plan: Plan, claim: Claim, most_steps: int = MOST_STEPS, *, forces: bool = True
) -> Proof | None:
    """A proof of the claim about `plan`, None if there is none so short. Without `forces` it is
    about a ship whose bench forces nothing."""
    began = time.monotonic()
    mine = frozenset(claim.functions)
    whole = claim.reaches(plan)
    for exact in dict.fromkeys((mine, whole)):
        unrolled = Unrolled(claim.system(Terms(), plan, exact, forces=forces), claim)
        for k in range(1, most_steps + 1):
            if unrolled.is_proved(k):
                return Proof(k, exact, time.monotonic() - began)
    return None


class Unrolled:
    """A system and a claim, tick after tick."""

    def __init__(self, system: System, claim: Claim) -> None:
        self.system = system
        self.claim = claim
        self.a: Terms = system.a
        self._variables = dict(system.variables())
        self._watches = watch_variables(claim.watches())
        self._states: list[Values] = [self._state(0)]
        self._facts: list[list[Any]] = [[]]

    def is_proved(self, k: int) -> bool:
        """Whether induction over k ticks proves it: together with why, or else by itself."""
        while len(self._states) <= k:
            self._unroll()
        return any(self._holds(k, claimed) for claimed in (self._whole, self._bare))

    def _holds(self, k: int, claimed: Any) -> bool:
        """Both halves of the induction."""
        return self._begins(range(k), claimed) and self._goes_on(k, claimed)

    def _begins(self, ticks: range, claimed: Any) -> bool:
        """Whether it holds in the first ticks. Tick 0 is before the first one: nothing is driven
        yet, and what is remembered from before the power went may be against the claim. Where it
        is, what becomes of it in as many ticks is looked at."""
        for first in (ticks, range(1, len(ticks) + 1)):
            solver = _solver()
            solver.add(self.system.begins(self._states[0]), self._watch_begins())
            solver.add(*(fact for facts in self._facts[1 : first.stop] for fact in facts))
            solver.add(z3.Or(*(_no(claimed(self._states[tick])) for tick in first)))
            if solver.check() == z3.unsat:
                return True
        return False

    def _goes_on(self, k: int, claimed: Any) -> bool:
        """Whether it holds in a tick that follows k in which it did."""
        solver = _solver()
        solver.add(*(fact for facts in self._facts[1 : k + 1] for fact in facts))
        solver.add(*(_truth(claimed(state)) for state in self._states[:k]))
        solver.add(_no(claimed(self._states[k])))
        return bool(solver.check() == z3.unsat)

    def _whole(self, state: Values) -> Any:
        """The claim, why, and that everything is within its bounds."""
        me, now = watch_of(state), self.system.moment(state)
        a = self.a
        return a.both(
            self._bounded(state),
            self.system.keeps(state),
            self.claim.because(self.system, me, now),
            self.claim.holds(self.system, me, now),
        )

    def _bare(self, state: Values) -> Any:
        """The claim, and that everything is within its bounds."""
        me, now = watch_of(state), self.system.moment(state)
        return self.a.both(
            self._bounded(state), self.system.keeps(state), self.claim.holds(self.system, me, now)
        )

    def _bounded(self, state: Values) -> Any:
        return within(self.a, self._variables | self._watches, state)

    def _watch_begins(self) -> Any:
        state = self._states[0]
        return self.a.both(*(state[name] == one.start for name, one in self._watches.items()))

    def _state(self, step: int) -> Values:
        every = self._variables | self._watches
        return {name: symbol(f"{name} {step}", one) for name, one in every.items()}

    def _unroll(self) -> None:
        """One tick more."""
        step = len(self._states)
        before, after = self._states[-1], self._state(step)
        given = {name: z3.Int(f"given {name} {step}") for name in self.system.inputs()}
        facts = [
            z3.And(one.low <= given[name], given[name] <= one.high)
            for name, one in self.system.inputs().items()
        ]
        known = len(self.a.bounds)
        became = self.system.step(before, given)
        moment = self.system.moment(became)
        me = watch_of(before)
        self.claim.watch(self.system, me, self.system.moment(before), moment)
        became |= watch_variables(vars(me))
        facts += self.a.bounds[known:]
        facts += [after[name] == became[name] for name in after]
        self._states.append(after)
        self._facts.append(facts)


def within(a: Terms, variables: Mapping[str, Variable], state: Values) -> Any:
    """Whether every number is within its bounds."""
    return a.both(
        *(
            truth
            for name, one in variables.items()
            if not isinstance(one, Flag)
            for truth in (one.low <= state[name], state[name] <= one.high)
        )
    )


def symbol(name: str, variable: Variable) -> Any:
    """An unknown of this kind."""
    return z3.Bool(name) if isinstance(variable, Flag) else z3.Int(name)


def _solver() -> Any:
    solver = z3.Solver()
    solver.set("timeout", SOLVER_MS)
    return solver


def _truth(term: Any) -> Any:
    return z3.BoolVal(term) if isinstance(term, bool) else term


def _no(term: Any) -> Any:
    return z3.Not(_truth(term))
