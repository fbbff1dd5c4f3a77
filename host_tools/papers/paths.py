"""The way of the current from the battery to a terminal, wire by wire."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from host_tools.electrical.electrics import Terminal

if TYPE_CHECKING:
    from collections.abc import Sequence

    from host_tools.electrical.electrics import Wire

THROUGH = {"out": "in", "out +": "in +", "NO": "COM", "2": "1"}
"""Where the current that leaves a part by one point has entered it; by the same point if it is
nothing but a joint: a strip, a contact of a connector."""


@dataclass(frozen=True)
class Passed:
    """A part on the way: the wire that leads to it, and the points by which it is entered and
    left."""

    part: str
    entered: str
    left: str
    wire: str


@dataclass(frozen=True)
class Path:
    """The parts from the battery on, and the last wire, to the terminal itself; "" without any."""

    parts: tuple[Passed, ...]
    last: str


def path_to(wires: Sequence[Wire], end: Terminal) -> Path:
    """The way to a terminal. Signals lead no current and are left out."""
    power = [wire for wire in wires if wire.current is not None]
    way: list[Wire] = []
    at = end
    while (wire := _leading_to(power, at)) is not None and wire not in way:
        way.insert(0, wire)
        at = wire.from_
        if _leading_to(power, at) is None and at.point in THROUGH:
            at = Terminal(at.part, THROUGH[at.point])
    parts = [
        Passed(one.to.part, one.to.point, next_.from_.point, one.number)
        for one, next_ in pairwise(way)
    ]
    return Path(tuple(parts), way[-1].number if way else "")


def _leading_to(wires: Sequence[Wire], at: Terminal) -> Wire | None:
    return next((wire for wire in wires if wire.to == at), None)
