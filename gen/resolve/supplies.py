"""Supplies, and what hangs on them: whether they name each other rightly and say what fits
together. The sums themselves are made by host_tools/electrical."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.electric import supply_mv
from gen.resolve.names import find_named

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.diagnostics import Place, Problems
    from gen.electric import SupplyItem
    from gen.read.keys import Located
    from gen.read.sections import Section
    from gen.ship import Ship

OF_A_BATTERY = ("capacity", "chemistry", "at", "peukert", "resistance")
OF_A_REGULATOR = ("kind", "rating", "efficiency")


def check_supplies(ship: Ship, problems: Problems) -> None:
    """Notes what names no supply, supplies that feed themselves, and what does not fit."""
    supplies = ship.supplies
    for label, name in _feeds(ship):
        find_supply(name, ship, label, problems)
    for supply in supplies or ():
        label = f"supply {show(supply.name.value)}"
        if supply.from_ is None:
            _check_battery(supply, label, problems)
        else:
            _check_fed(supply, label, ship, problems)
            if supplies is not None and _feeds_itself(supply, supplies):
                what = f"{label}: it is fed, in the end, from itself"
                problems.add("supply-loop", supply.from_.place, what, got=show(supply.from_.text))


def find_supply(name: Located[str], ship: Ship, label: str, problems: Problems) -> bool:
    """Whether there is a supply of this name; notes if not."""
    return find_named(
        name, ship.supplies, label=label, kind="supply", where="supplies", problems=problems
    )


def _feeds(ship: Ship) -> Iterator[tuple[str, Located[str]]]:
    """What names a supply, but for loads and other supplies."""
    for output in ship.outputs:
        for part in ("coil", "power"):
            item = getattr(output, part, None)
            if item is not None:
                yield f"output {show(output.name.value)}: {part}", item.supply
    for driver in ship.drivers or ():
        yield f"driver {show(driver.name.value)}", driver.supply
    if ship.board_supply is not None:
        yield "board supply", ship.board_supply


def _check_battery(supply: SupplyItem, label: str, problems: Problems) -> None:
    if supply.voltage is None:
        what = f"{label}: it has no voltage and is fed by none"
        problems.add("no-voltage", supply.place, what, expected="voltage: a voltage such as 12 V")
    for key, place in _given(supply, OF_A_REGULATOR):
        what = f"{label}: only a regulator has {show(key)}, and this one is fed by none"
        problems.add("wrong-supply", place, what, expected="from: the name of a supply")


def _check_fed(supply: SupplyItem, label: str, ship: Ship, problems: Problems) -> None:
    assert supply.from_ is not None  # noqa: S101 - asked by the caller
    find_supply(supply.from_, ship, label, problems)
    for key, place in _given(supply, OF_A_BATTERY):
        what = f"{label}: only a battery has {show(key)}, and this one is fed by another supply"
        problems.add("wrong-supply", place, what, expected="no 'from'")
    if supply.voltage is None:
        for key, place in _given(supply, OF_A_REGULATOR):
            what = f"{label}: only a regulator has {show(key)}, and this one has no voltage"
            problems.add(
                "wrong-supply", place, what, expected="voltage: what it puts out, such as 6 V"
            )
    linear = supply.kind is not None and supply.kind.value == "linear"
    if linear and supply.efficiency is not None:
        what = f"{label}: the efficiency of a linear regulator follows from its voltages"
        got = show(supply.efficiency.text)
        problems.add(
            "wrong-supply", supply.efficiency.place, what, got=got, expected="no 'efficiency'"
        )
    above = supply_mv(supply.from_.value, ship.supplies)
    if linear and supply.voltage is not None and above is not None and supply.voltage.value > above:
        what = f"{label}: a linear regulator cannot give more than feeds it"
        got = show(supply.voltage.text)
        problems.add(
            "wrong-supply", supply.voltage.place, what, got=got, expected="kind: switching"
        )


def _given(supply: SupplyItem, keys: tuple[str, ...]) -> Iterator[tuple[str, Place]]:
    for key in keys:
        value = getattr(supply, key)
        if value is not None:
            yield key, value.place


def _feeds_itself(supply: SupplyItem, supplies: Section[SupplyItem]) -> bool:
    seen: set[str] = set()
    at: SupplyItem | None = supply
    while at is not None and at.from_ is not None:
        if at.name.value in seen:
            return at.name.value == supply.name.value or supply.name.value in seen
        seen.add(at.name.value)
        at = supplies.items.get(at.from_.value)
    return False
