"""The worst current of each supply: that it is one.

The sums believe of some functions that they never come together (`claims/currents.py`). Each of
these beliefs is proved of the plan, so that the sum is proved never to be passed. Then it is tried:
what the sum believes on together is switched on, on the model, and the most that flowed is told.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Winch
from gen.plan import StateOf
from gen.read.steps import Trial, Wait
from gen.response import FRAME_TICKS
from host_tools import trial as trials
from host_tools.electrical.reachable import Allowed
from host_tools.model import Model
from host_tools.prove.claims.currents import current_claims
from host_tools.prove.obligations import PROVED, REFUTED, Outcome, decide
from host_tools.prove.witness import Finder
from host_tools.states import Doing

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan
    from gen.read.steps import Step
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.of_ship import Summed
    from host_tools.electrical.tree import Share

NEAR_A = 0.000_5


def supply_outcomes(summed: Summed) -> Iterator[Outcome]:
    """One for each supply of a ship. A belief that does not hold is told with each of them."""
    if not any(circuit.to is not None for circuit in summed.circuits):
        return
    plan = summed.plan
    began = time.monotonic()
    beliefs = [decide(plan, claim) for claim in current_claims(plan)]
    wrong = [one for one in beliefs if one.verdict != PROVED]
    most = _Most(plan)
    for circuit in summed.circuits:
        if circuit.to is None:
            continue
        worst = circuit.currents.worst
        text = f"{circuit.name} never carries more than {worst.shown()}, nothing held fast"
        forced = most.while_forced(circuit)
        if forced > worst.value + NEAR_A:
            text += f" or forced ({forced:.3g} A while one function is forced)"
        verdict, how = PROVED, _told(len(beliefs), most.seen(circuit), worst.value)
        if wrong:
            refuted = any(one.verdict == REFUTED for one in wrong)
            verdict = REFUTED if refuted else wrong[0].verdict
            how = f"the sums believe what is not so: {wrong[0].text}"
        spent = time.monotonic() - began
        yield Outcome(
            "current",
            text,
            circuit.place.line,
            verdict,
            how,
            spent,
            refutation=next((one.refutation for one in wrong if one.refutation), None),
        )
        began = time.monotonic()


def _told(beliefs: int, seen_a: float, worst_a: float) -> str:
    pairs = f"{beliefs} beliefs of the sums proved" if beliefs else "a plain sum"
    if seen_a >= worst_a - NEAR_A:
        return f"{pairs}; as much was seen on the model"
    return f"{pairs}; {seen_a:.3g} A were seen on the model"


class _Most:
    """The most that is seen to flow, and the most that may while one function is forced."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.forced = Allowed(plan, while_forced=True) if plan.bench is not None else None
        self.ways = _Ways(plan)

    def while_forced(self, circuit: Circuit) -> float:
        """What the sum is without what a force does not ask for; 0 of a ship without a bench."""
        if self.forced is None:
            return 0.0
        free, weights = _weights(self.plan, circuit.shares)
        return free + self.forced.most(weights).value

    def seen(self, circuit: Circuit) -> float:
        """In amperes, with everything in the states that the sum has it in."""
        free, weights = _weights(self.plan, circuit.shares)
        wanted = {}
        for index, state in Allowed(self.plan).most(weights).states.items():
            amperes = weights.get(index, ())
            if amperes and amperes[state] > 0:
                # Another state in which it draws as much will do.
                wanted[index] = tuple(s for s, one in enumerate(amperes) if one == amperes[state])
        seen = free
        for states in self.ways.into(wanted):
            drawn = sum(
                (np.asarray(amperes)[states[index]] for index, amperes in weights.items()),
                start=np.zeros(1),
            )
            seen = max(seen, free + float(np.max(drawn)))
        return seen


def _weights(plan: Plan, shares: Sequence[Share]) -> tuple[float, dict[int, list[float]]]:
    """What always flows, and what flows in each state of each function."""
    free = 0.0
    weights: dict[int, list[float]] = {}
    for share in shares:
        consumer = share.consumer
        amperes = consumer.draws.value * share.factor
        if consumer.function is None:
            free += amperes
            continue
        # One more state than there are: a function may look as in none.
        count = len(plan.functions[consumer.function].states)
        states = weights.setdefault(consumer.function, [0.0] * (count + 1))
        for state in consumer.states:
            states[state] += amperes
    return free, weights


class _Ways:
    """Runs of the model in which functions are brought into states, each once."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.finder = Finder(plan)
        self.known: dict[tuple[StateOf, ...], dict[int, NDArray[np.int64]]] = {}

    def into(self, wanted: Mapping[int, tuple[int, ...]]) -> Iterator[dict[int, NDArray[np.int64]]]:
        """All runs so far and those in which all of `wanted` are brought into their states, as far
        as that goes: every function's state, tick by tick."""
        for order in (self._ends_last, self._held_last):
            indices = sorted(sorted(wanted), key=order)
            key = tuple(StateOf(index, wanted[index]) for index in indices)
            if key not in self.known:
                self.known[key] = self._run(key)
        yield from self.known.values()

    def _run(self, wanted: tuple[StateOf, ...]) -> dict[int, NDArray[np.int64]]:
        steps: list[Step] = []
        self.finder.there = {}
        for one in wanted:
            steps += next(self.finder.into(one), ())
            self.finder.there[one.function] = one.states[0]
        steps.append(Wait(self._patience, text="", source_line=0))
        scripted = trials.script(self.plan, Trial("worst current", tuple(steps), 0))
        doing = Doing(self.plan, Model(self.plan).run(scripted.trace, digests=False))
        return {i: doing.state(one) for i, one in enumerate(self.plan.functions)}

    @property
    def _patience(self) -> int:
        """How long motors may stand before they turn."""
        winches = [one for one in self.plan.functions if isinstance(one, Winch)]
        return max((one.pause_ticks for one in winches), default=0) + FRAME_TICKS

    def _ends_last(self, index: int) -> tuple[int, int]:
        """What ends by itself is switched on last, and of that what ends soonest."""
        ends = self.plan.functions[index].longest_run_ticks
        return int(ends is not None), -(ends or 0)

    def _held_last(self, index: int) -> tuple[int, int, int]:
        """What must be held is taken up behind that: another press on its key would end it."""
        held = any(one is not None for one in self.plan.functions[index].held_by)
        return int(held), *self._ends_last(index)
