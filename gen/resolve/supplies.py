"""Supplies and loads: only whether they name each other rightly. The sums come later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show

if TYPE_CHECKING:
    from gen.diagnostics import Problems
    from gen.read.keys import Located
    from gen.read.sections import Section
    from gen.ship import Ship, SupplyItem


def check_supplies(ship: Ship, problems: Problems) -> None:
    """Notes supplies and loads that name no supply, and supplies that feed themselves."""
    supplies = ship.supplies
    for function in ship.functions:
        if function.load is not None:
            label = f"function {show(function.name.value)}: load"
            _find(function.load.supply, supplies, label, problems)
    for supply in supplies or ():
        label = f"supply {show(supply.name.value)}"
        if supply.from_ is None:
            if supply.voltage is None:
                what = f"{label}: it has no voltage and is fed by none"
                expected = "voltage: a voltage such as 12 V"
                problems.add("no-voltage", supply.place, what, expected=expected)
        else:
            _find(supply.from_, supplies, label, problems)
            if supplies is not None and _feeds_itself(supply, supplies):
                what = f"{label}: it is fed, in the end, from itself"
                problems.add("supply-loop", supply.from_.place, what, got=show(supply.from_.text))


def _find(
    name: Located[str], supplies: Section[SupplyItem] | None, label: str, problems: Problems
) -> None:
    known = supplies.items.keys() | supplies.broken if supplies is not None else set()
    if name.value not in known:
        problems.add(
            "unknown-name",
            name.place,
            f"{label}: there is no such supply",
            got=show(name.text),
            hint=nearest(name.value, known) if known else "add a section 'supplies:'",
        )


def _feeds_itself(supply: SupplyItem, supplies: Section[SupplyItem]) -> bool:
    seen: set[str] = set()
    at: SupplyItem | None = supply
    while at is not None and at.from_ is not None:
        if at.name.value in seen:
            return at.name.value == supply.name.value or supply.name.value in seen
        seen.add(at.name.value)
        at = supplies.items.get(at.from_.value)
    return False
