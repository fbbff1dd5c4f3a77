"""The most that a plan lets be on at once: what its gates, groups, pairs and controls allow.

Every rule that a plan has of this kind says of two functions that some of their states never come
together:

- `only while`: the one is off unless the other is in one of some states;
- `never with` and `never together`: not both in some of their states;
- `both is stop`: never both on;
- what is only on while a position is held: one control has one position at a time.

They hold within each tick. `first` binds only a function's start, so that it may go on alone; what
could never start is off for good. A function that lingers (a light that fades, a servo on its way)
may still be on when its gate has closed: what its gate asks does not count for it.

Functions that no rule binds simply add. The others fall into groups that rules connect, and each
is searched: branch and bound, the best so far against what is left at most. So the sum is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from gen.behaviours import Function
    from gen.plan import Plan

MOST_STEPS = 100_000
"""So many states are tried for one group. Beyond that the sum is a bound, never too low."""


@dataclass(frozen=True, slots=True)
class Most:
    """The largest sum: `value`, and the states in which it is reached by the functions' indices.
    Not `exact` is a bound that nothing need reach."""

    value: float
    states: Mapping[int, int]
    exact: bool = True


class Allowed:
    """What one plan allows at once."""

    def __init__(self, plan: Plan, most_steps: int = MOST_STEPS) -> None:
        self.most_steps = most_steps
        functions = plan.functions
        self._domains = [(1 << len(function.states)) - 1 for function in functions]
        self._beside: list[list[dict[int, int]]] = [
            [{} for _ in function.states] for function in functions
        ]
        """For each state of a function: of each other one that it says something about, the states
        that may be beside it, a bit each."""
        for one, other, together in _excluded(functions):
            self._exclude(one, other, together)
            self._exclude(other, one, [(b, a) for a, b in together])
        self._groups = list(self._connected())
        self._group_of = {index: group for group in self._groups for index in group}
        self._known: dict[Any, Most] = {}
        self._leave_out_what_never_starts(functions)

    def most(self, weights: Mapping[int, Sequence[float]]) -> Most:
        """The largest sum of `weights`, each a number at least 0 for every state of a function."""
        value, exact = 0.0, True
        states: dict[int, int] = {}
        for group in self._groups:
            if any(index in weights for index in group):
                found = self._most_of(
                    group, tuple((i, tuple(weights[i])) for i in group if i in weights)
                )
                value += found.value
                exact = exact and found.exact
                states |= found.states
        return Most(value, states, exact)

    def can_be(self, index: int, state: int) -> bool:
        """Whether a function can ever be in one of its states."""
        group = self._group_of[index]
        domains = {i: self._domains[i] for i in group}
        domains[index] &= 1 << state
        return domains[index] != 0 and self._possible(domains)

    def _most_of(
        self, group: tuple[int, ...], weights: tuple[tuple[int, tuple[float, ...]], ...]
    ) -> Most:
        asked = group, weights
        if asked not in self._known:
            search = _Search(self._beside, dict(weights), self.most_steps)
            self._known[asked] = search.run({index: self._domains[index] for index in group})
        return self._known[asked]

    def _possible(self, domains: dict[int, int]) -> bool:
        found = _Search(self._beside, {}, self.most_steps).run(domains)
        return bool(found.states) or not found.exact

    def _exclude(self, one: int, other: int, together: Sequence[tuple[int, int]]) -> None:
        for mine, theirs in together:
            beside = self._beside[one][mine]
            beside[other] = beside.get(other, self._domains[other]) & ~(1 << theirs)

    def _connected(self) -> Iterator[tuple[int, ...]]:
        left = set(range(len(self._domains)))
        while left:
            group, edge = set(), {min(left)}
            while edge:
                group |= edge
                edge = {o for i in edge for beside in self._beside[i] for o in beside} - group
            left -= group
            yield tuple(sorted(group))

    def _leave_out_what_never_starts(self, functions: Sequence[Function]) -> None:
        """A function whose `first` can never be so while it starts is off for good; what depends on
        it perhaps likewise."""
        left = [index for index, function in enumerate(functions) if function.gate.first]
        while stuck := [index for index in left if not self._starts(index, functions[index])]:
            for index in stuck:
                self._domains[index] = 1
            left = [index for index in left if index not in stuck]

    def _starts(self, index: int, function: Function) -> bool:
        needed = {index: self._domains[index] & ~1}
        for first in function.gate.first:
            before = needed.get(first.of.function, self._domains[first.of.function])
            needed[first.of.function] = before & _bits(first.of.states)
        return all(
            self._possible({one: needed.get(one, self._domains[one]) for one in group})
            for group in {self._group_of[one] for one in needed}
        )


def _bits(states: Sequence[int]) -> int:
    return sum(1 << state for state in states)


def _excluded(
    functions: Sequence[Function],
) -> Iterator[tuple[int, int, list[tuple[int, int]]]]:
    """Two functions, and which of their states never come together. A function sees in its own tick
    only those that stand earlier in the plan, so that the later one's word counts."""
    for index, function in enumerate(functions):
        gate = function.gate
        on = range(1, len(function.states))
        for of in gate.only_while:
            if of.function < index and not function.lingers:
                others = range(len(functions[of.function].states))
                yield (
                    *(of.function, index),
                    [(other, mine) for other in others if other not in of.states for mine in on],
                )
        for bar in gate.bars:
            if bar.of.function < index:
                earlier = functions[bar.of.function]
                yield (
                    *(bar.of.function, index),
                    [
                        (other, mine)
                        for other in bar.of.states
                        for mine in on
                        if function.judged_as(mine) in bar.states
                        and (not function.lingers or earlier.judged_as(other) in bar.of.states)
                    ],
                )
        for stopped in gate.both_is_stop:
            other_one = functions[stopped]
            if not function.lingers and not other_one.lingers:
                theirs = range(1, len(other_one.states))
                yield stopped, index, [(other, mine) for other in theirs for mine in on]
        for before in range(index):
            held = [
                (other, mine)
                for other, theirs_by in enumerate(functions[before].held_by)
                for mine, mine_by in enumerate(function.held_by)
                if theirs_by is not None
                and mine_by is not None
                and theirs_by.control == mine_by.control
                and theirs_by.position != mine_by.position
            ]
            if held:
                yield before, index, held


class _Search:
    """Branch and bound over one group."""

    def __init__(
        self,
        beside: Sequence[Sequence[Mapping[int, int]]],
        weights: Mapping[int, Sequence[float]],
        most_steps: int,
    ) -> None:
        self.beside = beside
        self.weights = weights
        self.left = most_steps
        self.best = -1.0
        self.best_states: dict[int, int] = {}
        self.bound = 0.0

    def run(self, domains: dict[int, int]) -> Most:
        """The best of all; no states if nothing is possible. `domains` are the states that each
        function may be in, a bit each."""
        if not all(domains.values()):
            return Most(0.0, {})
        self.bound = sum(self._at_most(index, states) for index, states in domains.items())
        self._go_on(domains, {}, 0.0)
        if self.left < 0:
            return Most(max(self.bound, self.best), self.best_states, exact=False)
        return Most(max(self.best, 0.0), self.best_states)

    def _at_most(self, index: int, states: int) -> float:
        weights = self.weights.get(index)
        if weights is None:
            return 0.0
        return max(weight for state, weight in enumerate(weights) if states >> state & 1)

    def _go_on(self, open_: dict[int, int], done: dict[int, int], value: float) -> None:
        if not open_:
            if value > self.best:
                self.best, self.best_states = value, dict(done)
            return
        bounds = {index: self._at_most(index, states) for index, states in open_.items()}
        if value + sum(bounds.values()) <= self.best or self.left < 0:
            return
        index = max(open_, key=lambda one: (bounds[one], -one))
        rest = {one: states for one, states in open_.items() if one != index}
        weights = self.weights.get(index)
        states = [s for s in range(len(self.beside[index])) if open_[index] >> s & 1]
        if weights is not None:
            states.sort(key=lambda state: -weights[state])
        for state in states:
            self.left -= 1
            narrowed = dict(rest)
            for other, allowed in self.beside[index][state].items():
                if other in narrowed:
                    narrowed[other] &= allowed
                    if not narrowed[other]:
                        break
            else:
                done[index] = state
                self._go_on(narrowed, done, value + (weights[state] if weights else 0.0))
                del done[index]
