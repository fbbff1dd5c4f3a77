"""The order in which functions are asked: each behind those that it depends on, ties by name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.resolve.doings import function_named, timed_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.diagnostics import Place, Problems
    from gen.ship import Ship


def function_order(ship: Ship, problems: Problems) -> list[str]:
    """The names of all functions in the plan's order. Of a circle, its path is noted."""
    said_at = _edges(ship)
    waiting = {name: set(before) for name, before in said_at.items()}
    order: list[str] = []
    while waiting:
        ready = [name for name, before in waiting.items() if before.isdisjoint(waiting)]
        if ready:
            order.append(min(ready))
            del waiting[order[-1]]
            continue
        path = _circle(waiting)
        problems.add(
            "depends-on-itself",
            said_at[path[0]][path[1]],
            f"function {show(path[0])}: it depends, in the end, on itself",
            got=" -> ".join(path),
        )
        waiting[path[0]].remove(path[1])  # so that a second circle is found as well
    return order


def _edges(ship: Ship) -> dict[str, dict[str, Place]]:
    """For each function those that it depends on, and where it says so."""
    names = ship.functions.items
    edges: dict[str, dict[str, Place]] = {name: {} for name in names}
    for name, before, place in _dependencies(ship):
        if name in names and before in names:
            edges[name].setdefault(before, place)
    return edges


def _dependencies(ship: Ship) -> Iterator[tuple[str, str, Place]]:
    """(function, what it depends on, where that is said)"""
    names = ship.functions.items
    sensors = ship.sensors.items if ship.sensors is not None else ()
    for function in ship.functions:
        for text in function.depends_on():
            yield function.name.value, function_named(text.value, [*names, *sensors]), text.place
        for text in function.only_while or ():
            yield function.name.value, function_named(text.value, names), text.place
        for text in function.first or ():
            yield function.name.value, timed_name(text.value, "for", names), text.place
        for text in function.then or ():
            yield timed_name(text.value, "after", names), function.name.value, text.place


def _circle(waiting: Mapping[str, set[str]]) -> list[str]:
    """A path from a function back to itself; each of `waiting` waits for another one of them."""
    path = [min(waiting)]
    while True:
        following = min(name for name in waiting[path[-1]] if name in waiting)
        if following in path:
            return [*path[path.index(following) :], following]
        path.append(following)
