"""What there is to buy for the wiring of a ship."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from gen.ship import LineItem, PairItem, RegisterItem
from host_tools.electrical.electrics import Part
from host_tools.electrical.figure import shown
from host_tools.electrical.fuses import KINDS

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.ship import Ship
    from host_tools.electrical.electrics import Connector, Fuse, Wire

SPARE_LENGTH = 1.1
"""A tenth more wire than the sum of all ways: common practice, no source."""

SPARE_FUSES = 2
"""As many of each rating lie in the box beside those in use: common practice, no source."""


def parts_of(
    ship: Ship, wires: Sequence[Wire], fuses: Sequence[Fuse], connectors: Sequence[Connector]
) -> tuple[Part, ...]:
    """The rows of the shopping list."""
    return (
        *_supplies(ship),
        *_fuses(fuses),
        *_wires(wires),
        *_connectors(connectors),
        *_switches(ship),
    )


def _supplies(ship: Ship) -> Iterator[Part]:
    for item in ship.supplies or ():
        name = (item.name.value,)
        if item.from_ is None:
            told = [one.text for one in (item.voltage, item.capacity, item.chemistry) if one]
            yield Part("battery", 1, ", ".join(told), name)
        elif item.voltage is not None and (item.kind or item.rating or item.efficiency):
            kind = item.kind.value if item.kind is not None else "switching"
            rating = f", {item.rating.text}" if item.rating is not None else ""
            yield Part("regulator", 1, f"{kind}, {item.voltage.text}{rating}", name)


def _fuses(fuses: Sequence[Fuse]) -> Iterator[Part]:
    alike: dict[tuple[str, float], list[str]] = {}
    for fuse in fuses:
        alike.setdefault((fuse.kind, fuse.rating_a), []).append(fuse.number)
    for (kind, rating), numbers in sorted(alike.items()):
        colour = KINDS[kind].colour(rating)
        spec = f"{shown(rating, 'A')} {kind}" + (f", {colour}" if colour else "")
        yield Part("fuse", len(numbers) + SPARE_FUSES, spec, tuple(numbers))
    for kind in sorted({fuse.kind for fuse in fuses}):
        numbers = [fuse.number for fuse in fuses if fuse.kind == kind]
        yield Part("fuse holder", len(numbers), kind, tuple(numbers))


def _wires(wires: Sequence[Wire]) -> Iterator[Part]:
    """Wire by size and colour, in whole metres."""
    alike: dict[tuple[float, str, str], list[Wire]] = {}
    for wire in wires:
        if wire.size_mm2 and wire.length_m is not None:
            alike.setdefault((wire.size_mm2, wire.size_name, wire.colour), []).append(wire)
    for (_, size, colour), of in sorted(alike.items()):
        metres = math.ceil(SPARE_LENGTH * sum(wire.length_m or 0 for wire in of) - 1e-9)
        yield Part("wire", metres, f"m of {size}, {colour}", tuple(wire.number for wire in of))


def _connectors(connectors: Sequence[Connector]) -> Iterator[Part]:
    for one in connectors:
        spec = f"{len(one.contacts)} contacts, {shown(one.rating_a, 'A')} each, both halves"
        yield Part("connector", 1, spec, (one.name,))


def _switches(ship: Ship) -> Iterator[Part]:
    relays: dict[str, list[str]] = {}
    for item in ship.outputs:
        if isinstance(item, LineItem | PairItem) and item.kind.value == "relay":
            names = [item.name.value]
            if isinstance(item, PairItem):
                names = [f"{item.name.value} {way}" for way in item.ways.items]
            coil = f"coil on {item.coil.supply.value}" if item.coil is not None else "coil not told"
            most = f", contact {item.contacts.text}" if item.contacts is not None else ""
            relays.setdefault(coil + most, []).extend(names)
    for spec, names in relays.items():
        yield Part("relay", len(names), spec, tuple(names))
    for item in ship.outputs:
        if isinstance(item, RegisterItem):
            count = item.outputs.value // 8
            yield Part(
                "shift register", count, "eight outputs, such as 74HC595", (item.name.value,)
            )
