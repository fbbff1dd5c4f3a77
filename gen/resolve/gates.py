"""Conditions between functions: `only while`, `never with`, `first`, `then` and the groups."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.plan import Bar, First, Gate, StateOf

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.behaviours.base import Function, FunctionKeys
    from gen.diagnostics import Problems
    from gen.read.keys import Located
    from gen.resolve.doings import Doings
    from gen.ship import Ship


def with_gates(ship: Ship, doings: Doings, problems: Problems) -> tuple[Function, ...]:
    """Every function that could be resolved, in the plan's order, now with its gate."""
    gates = _Gates(doings, problems)
    for function in ship.functions:
        if function.name.value in doings.resolved:
            gates.read(function)
    for group in ship.groups or ():
        label = f"group {show(group.name.value)}"
        members = [group.never_together, group.both_is_stop]
        if any(given is not None and len(given) < 2 for given in members) or not any(members):
            what = f"{label}: it has fewer than two functions"
            problems.add("no-group", group.place, what)
        gates.never_together(group.never_together or (), label)
        gates.both_is_stop(group.both_is_stop or (), label)
    return gates.applied()


class _Gates:
    """Gathers each function's gate from both sides of what was written."""

    def __init__(self, doings: Doings, problems: Problems) -> None:
        self.doings = doings
        self.problems = problems
        self.only_while: list[set[StateOf]] = [set() for _ in doings.order]
        self.bars: list[set[Bar]] = [set() for _ in doings.order]
        self.first: list[set[First]] = [set() for _ in doings.order]
        self.stops: list[set[int]] = [set() for _ in doings.order]

    def read(self, function: FunctionKeys) -> None:
        """The conditions that stand in one function."""
        label = f"function {show(function.name.value)}"
        index = self.doings.order[function.name.value]
        whole = StateOf(index, tuple(range(1, len(self._resolved(index).states))))
        for text in function.only_while or ():
            of = self.doings.state_of(text, f"{label}: only while")
            if of is not None:
                self.only_while[index].add(of)
        for text in function.never_with or ():
            of = self.doings.state_of(text, f"{label}: never with")
            if of is not None:
                self._pairs([(whole, function.name), (of, text)], f"{label}: never with")
        for text in function.first or ():
            of, ticks = self.doings.timed(text, "for", f"{label}: first")
            if of is not None:
                self.first[index].add(First(of, ticks))
        for text in function.then or ():
            of, ticks = self.doings.timed(text, "after", f"{label}: then")
            if of is not None:
                self.first[of.function].add(First(whole, ticks))

    def never_together(self, members: Iterable[Located[str]], label: str) -> None:
        """Of these only one at a time."""
        self._pairs(self._members(members, f"{label}: never together"), label)

    def both_is_stop(self, members: Iterable[Located[str]], label: str) -> None:
        """Asking for two of these is stop for all."""
        found = self._members(members, f"{label}: both is stop")
        functions = {of.function for of, _ in found}
        for number, (of, text) in enumerate(found):
            if of.function in [before.function for before, _ in found[:number]]:
                self._names_itself(text, label)
            if of.states != tuple(range(1, len(self._resolved(of.function).states))):
                self.problems.add(
                    "unknown-name",
                    text.place,
                    f"{label}: both is stop: a function as a whole is meant here",
                    got=show(text.text),
                    expected=self._resolved(of.function).name,
                )
            self.stops[of.function] |= functions - {of.function}

    def applied(self) -> tuple[Function, ...]:
        """The functions with what was gathered, in canonical order."""
        made = []
        for name, index in self.doings.order.items():
            function = self.doings.resolved.get(name)
            if function is not None:
                gate = Gate(
                    only_while=tuple(sorted(self.only_while[index], key=_key)),
                    bars=tuple(sorted(self.bars[index], key=lambda b: (_key(b.of), b.states))),
                    first=tuple(sorted(self.first[index], key=lambda f: (_key(f.of), f.for_ticks))),
                    both_is_stop=tuple(sorted(self.stops[index])),
                )
                made.append(dataclasses.replace(function, gate=gate))
        return tuple(made)

    def _resolved(self, index: int) -> Function:
        return next(self.doings.resolved[n] for n, i in self.doings.order.items() if i == index)

    def _members(
        self, members: Iterable[Located[str]], label: str
    ) -> list[tuple[StateOf, Located[str]]]:
        found = [(self.doings.state_of(text, label), text) for text in members]
        return [(of, text) for of, text in found if of is not None]

    def _pairs(self, members: list[tuple[StateOf, Located[str]]], label: str) -> None:
        for number, (second, text) in enumerate(members):
            for first, _ in members[:number]:
                if first.function == second.function:
                    self._names_itself(text, label)
                    continue
                self.bars[first.function].add(Bar(first.states, second))
                self.bars[second.function].add(Bar(second.states, first))

    def _names_itself(self, text: Located[str], label: str) -> None:
        what = f"{label}: a function is kept from running with itself"
        self.problems.add("names-itself", text.place, what, got=show(text.text))


def _key(of: StateOf) -> tuple[int, tuple[int, ...]]:
    return of.function, of.states
