"""The most that a plan lets be on at once: what its gates, groups, pairs and controls allow.

Every rule that a plan has of this kind says of two functions that some of their states never come
together:

- `only while`: the one is off unless the other is in one of some states;
- `never with` and `never together`: not both in some of their states;
- `both is stop`: never both on;
- what is only on while a position is held: one control has one position at a time.

They hold within each tick: `prove` proves it (`claims/currents.py`). `first` binds only a
function's start, so that it may go on alone; what could never start is off for good. A function
that lingers (a light that fades, a servo on its way) may still be on when its gate has closed: what
its gate asks does not count for it, unless it and the other one keep each other off.

Functions that no rule binds simply add. The others fall into groups that rules connect, and each
is searched: a state of the function that most rules bind is tried, what then falls apart is
searched part by part, and what cannot be better than the best so far is left out. So the sum is
exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

from gen.plan import Bar, StateOf

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from gen.behaviours import Function
    from gen.plan import Plan

MOST_STEPS = 2_000
MOST_SEARCHES = 3
"""So many states are tried for one group, and three times as many for all of a plan's: less than a
second. Beyond that a sum is a bound, never too low. The largest starter takes 300 in all."""


@dataclass(frozen=True, slots=True)
class Most:
    """The largest sum: `value`, and the states in which it is reached by the functions' indices.
    Not `exact` is a bound that nothing need reach."""

    value: float
    states: Mapping[int, int]
    exact: bool = True


class Excluded(NamedTuple):
    """Pairs of states of two functions (`one`, which stands earlier, and `other`) that never come
    `together`. `by_key`: because one control has one position at a time, which a bench's force does
    not ask for."""

    one: int
    other: int
    together: list[tuple[int, int]]
    by_key: bool = False


class Allowed:
    """What one plan allows at once; `while_forced`: also while a bench forces a function of it."""

    def __init__(
        self, plan: Plan, most_steps: int = MOST_STEPS, *, while_forced: bool = False
    ) -> None:
        self.most_steps = most_steps
        self._left = MOST_SEARCHES * most_steps
        functions = plan.functions
        self._domains = [(1 << len(function.states)) - 1 for function in functions]
        self._beside: list[list[dict[int, int]]] = [
            [{} for _ in function.states] for function in functions
        ]
        """For each state of a function: of each other one that it says something about, the states
        that may be beside it, a bit each."""
        for one, other, together, by_key in excluded(functions):
            if by_key and while_forced:
                continue
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

    @property
    def never_on(self) -> tuple[int, ...]:
        """Functions that can never start, because of what has to come first."""
        return tuple(index for index, states in enumerate(self._domains) if states == 1)

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
            domains = {index: self._domains[index] for index in group}
            self._known[asked] = self._searched(dict(weights), domains)
        return self._known[asked]

    def _possible(self, domains: dict[int, int]) -> bool:
        found = self._searched({}, domains)
        return bool(found.states) or not found.exact

    def _searched(self, weights: Mapping[int, Sequence[float]], domains: dict[int, int]) -> Most:
        given = min(self.most_steps, self._left)
        search = _Search(self._beside, weights, given)
        found = search.run(domains)
        self._left = max(0, self._left - given + search.left)
        return found

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
        # What is remembered may be on at power-up without ever having started.
        left = [
            index
            for index, function in enumerate(functions)
            if function.gate.first and not function.kept_bytes
        ]
        while stuck := [index for index in left if not self._starts(index, functions[index])]:
            for index in stuck:
                self._domains[index] = 1
            left = [index for index in left if index not in stuck]

    def _starts(self, index: int, function: Function) -> bool:
        needed = {index: self._domains[index] & ~1}
        for first in function.gate.first:
            if first.of.function > index:
                continue  # it is seen as it was in the tick before
            before = needed.get(first.of.function, self._domains[first.of.function])
            needed[first.of.function] = before & _bits(first.of.states)
        return all(
            self._possible({one: needed.get(one, self._domains[one]) for one in group})
            for group in {self._group_of[one] for one in needed}
        )


def _bits(states: Sequence[int]) -> int:
    return sum(1 << state for state in states)


def excluded(functions: Sequence[Function]) -> Iterator[Excluded]:
    """All that is believed never to come together. A function sees in its own tick only those that
    stand earlier in the plan, so that the later one's word counts."""
    for index, function in enumerate(functions):
        gate = function.gate
        on = range(1, len(function.states))
        for of in gate.only_while:
            if of.function < index and not function.lingers:
                others = range(len(functions[of.function].states))
                yield Excluded(
                    of.function,
                    index,
                    [(other, mine) for other in others if other not in of.states for mine in on],
                )
        for bar in gate.bars:
            if bar.of.function < index:
                earlier = functions[bar.of.function]
                mutual = Bar(bar.of.states, StateOf(index, bar.states)) in earlier.gate.bars
                yield Excluded(
                    bar.of.function,
                    index,
                    [
                        (other, mine)
                        for other in bar.of.states
                        for mine in on
                        if function.judged_as(mine) in bar.states
                        and (
                            not function.lingers
                            or (mutual and earlier.judged_as(other) in bar.of.states)
                        )
                    ],
                )
        for stopped in gate.both_is_stop:
            other_one = functions[stopped]
            if not function.lingers and not other_one.lingers:
                theirs = range(1, len(other_one.states))
                together = [(other, mine) for other in theirs for mine in on]
                yield Excluded(stopped, index, together)
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
                yield Excluded(before, index, held, by_key=True)


_Found = tuple[float, dict[int, int]]
"""A sum, and the states in which it is reached."""


class _Search:
    """The best of one group: takes apart what no rule connects any more, then tries each state of
    the function that most rules bind."""

    def __init__(
        self,
        beside: Sequence[Sequence[Mapping[int, int]]],
        weights: Mapping[int, Sequence[float]],
        most_steps: int,
    ) -> None:
        self.beside = beside
        self.weights = weights
        self.left = most_steps
        self.solved: dict[tuple[tuple[int, int], ...], _Found | None] = {}

    def run(self, domains: dict[int, int]) -> Most:
        """The best of all; no states if nothing is possible. `domains` are the states that each
        function may be in, a bit each."""
        found = self._all(domains) if all(domains.values()) else None
        value, states = found if found is not None else (0.0, {})
        return Most(value, states, exact=self.left >= 0)

    def _all(self, open_: dict[int, int]) -> _Found | None:
        """The best of functions that may be in these states; None if some rule leaves none."""
        value = 0.0
        states: dict[int, int] = {}
        for part in self._parts(open_):
            found = self._part(part)
            if found is None:
                return None
            value += found[0]
            states |= found[1]
        return value, states

    def _part(self, part: dict[int, int]) -> _Found | None:
        key = tuple(sorted(part.items()))
        if key not in self.solved:
            self.solved[key] = self._tried(part)
        return self.solved[key]

    def _tried(self, part: dict[int, int]) -> _Found | None:
        if self.left < 0:
            return self._at_most(part), {}  # nobody knows whether it can be reached
        index = max(part, key=lambda one: (len(self._bound(one, part)), -one))
        best: _Found | None = None
        for state in self._heaviest_first(index, part[index]):
            self.left -= 1
            open_ = self._narrowed(part, index, state)
            own = self.weights[index][state] if index in self.weights else 0.0
            if not all(open_.values()):
                continue
            if best is not None and own + self._at_most(open_) <= best[0]:
                continue
            found = self._all(open_)
            if found is not None and (best is None or own + found[0] > best[0]):
                best = own + found[0], {**found[1], index: state}
        return best

    def _parts(self, open_: dict[int, int]) -> Iterator[dict[int, int]]:
        """The functions in sets that rules connect."""
        left = set(open_)
        while left:
            part, edge = set(), {min(left)}
            while edge:
                part |= edge
                edge = {other for one in edge for other in self._bound(one, open_)} - part
            left -= part
            yield {one: open_[one] for one in sorted(part)}

    def _bound(self, one: int, open_: dict[int, int]) -> set[int]:
        """The other functions that some state of this one still has a say about."""
        return {
            other
            for state, beside in enumerate(self.beside[one])
            if open_[one] >> state & 1
            for other, allowed in beside.items()
            if other in open_ and open_[other] & ~allowed
        }

    def _narrowed(self, part: dict[int, int], index: int, state: int) -> dict[int, int]:
        """What is left for the others while one is in a state."""
        beside = self.beside[index][state]
        return {
            one: states & beside.get(one, states) for one, states in part.items() if one != index
        }

    def _heaviest_first(self, index: int, states: int) -> list[int]:
        weights = self.weights.get(index)
        possible = [state for state in range(len(self.beside[index])) if states >> state & 1]
        return possible if weights is None else sorted(possible, key=lambda s: -weights[s])

    def _at_most(self, open_: dict[int, int]) -> float:
        """No sum can be larger than if there were no rules."""
        return sum(
            max(weight for state, weight in enumerate(self.weights[one]) if states >> state & 1)
            for one, states in open_.items()
            if one in self.weights
        )
