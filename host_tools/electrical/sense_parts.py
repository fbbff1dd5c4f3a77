"""The dividers through which the board measures its supplies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.resolve.low_battery import SUPPLY_REFERENCE_MV
from host_tools.electrical.electrics import Finding, Part
from host_tools.electrical.figure import Figure, Given, shown
from host_tools.electrical.found import Found, together
from host_tools.electrical.resistors import divider, proposed_divider
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from gen.electric import SupplyItem
    from gen.ship import Ship
    from host_tools.electrical.tree import Node, Tree

RANGE = Given(
    "range of the converter",
    float(SUPPLY_REFERENCE_MV) / 1000,
    "V",
    "measured against the board's supply of 5 V",
)
BEARS = Given(
    "most voltage of a pin",
    RANGE.value + 0.5,
    "V",
    "ATmega328P datasheet, Absolute Maximum Ratings: VCC + 0.5 V (from memory)",
)
LOWER = Given(
    "lower resistor", 10_000.0, "ohm", "weak enough to waste nothing, strong enough to measure"
)


def sense_parts(ship: Ship, tree: Tree, file: str) -> Found:
    """Every supply that is sensed, with the battery full."""
    return together(
        _sense(item, tree.nodes[item.name.value], Written(file))
        for item in ship.supplies or ()
        if item.sensed_on is not None
    )


def _sense(item: SupplyItem, node: Node, written: Written) -> Found:
    name = item.name.value
    proposed = proposed_divider(name, LOWER, node.highest, RANGE)
    figures: tuple[Figure, ...] = ()
    parts: tuple[Part, ...] = ()
    at_pin_v = node.highest.value
    if item.divider is not None:
        upper, lower = (float(ohm) for ohm in item.divider.value)
        place = item.divider.place
        made = divider(
            name,
            written.number("upper resistor", upper, "ohm", place),
            written.number("lower resistor", lower, "ohm", place),
            node.highest,
        )
        figures = (made.at_pin, made.draws)
        for_ = (f"{name}, divider",)
        parts = tuple(
            Part("resistor", 1, f"{shown(ohm, 'ohm', 6)}, 0.125 W, 1 %", for_)
            for ohm in (upper, lower)
            if ohm
        )
        at_pin_v = made.at_pin.value
    if at_pin_v <= RANGE.value * (1 + 1e-9):
        return Found(figures, parts)
    destroys = at_pin_v > BEARS.value
    what = "destroys it" if destroys else "is more than it can measure"
    place = item.divider.place if item.divider is not None else item.place
    finding = Finding(
        code="sense-high",
        is_error=destroys,
        what=f"supply {show(name)}: with it full, what its measuring pin sees {what}",
        got=shown(at_pin_v, "V"),
        expected=f"at most {RANGE.shown()}: divider"
        f" {_short(proposed.upper.value)}/{_short(LOWER.value)}",
        place=place,
        clause=BEARS.source if destroys else RANGE.source,
    )
    return Found((*figures, proposed.upper), parts, (finding,))


def _short(ohm: float) -> str:
    """A resistance as a divider has it in the ship file: "47k"."""
    return shown(ohm, "ohm", 6).removesuffix("ohm").replace(" ", "") or "0"
