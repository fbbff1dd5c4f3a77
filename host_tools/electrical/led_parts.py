"""The LEDs of a ship and their resistors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.electric import LoadItem
from host_tools.electrical.electrics import Finding, Part
from host_tools.electrical.figure import Refused, shown
from host_tools.electrical.found import Found, together
from host_tools.electrical.resistors import HEADROOM, leds
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.electric import LedsItem
    from host_tools.electrical.consumers import Consumer, Feed
    from host_tools.electrical.tree import Node, Tree


def led_parts(feeds: Iterable[Feed], tree: Tree, file: str) -> Found:
    """Every string of LEDs with its resistor, reckoned at the highest voltage of its supply."""
    return together(
        _string(consumer, consumer.item.leds, tree.nodes[feed.supply], Written(file))
        for feed in feeds
        for consumer in feed.consumers
        if isinstance(consumer.item, LoadItem) and consumer.item.leds is not None
    )


def _string(consumer: Consumer, item: LedsItem, supply: Node, written: Written) -> Found:
    name = consumer.name
    each = written.given("forward voltage of one", item.each, "V")
    found = leds(
        name,
        highest_v=supply.highest,
        nominal_v=supply.volts,
        each_v=each,
        in_a_row=written.usual("LEDs in a row", item.in_a_row, "", item, "one"),
        current_a=written.given("current of a string", item.current, "A"),
    )
    label = f"{show(name)}: its LEDs"
    if isinstance(found, Refused):
        return Found(
            findings=(
                Finding(
                    code="leds-dark",
                    is_error=True,
                    what=f"{label} stay dark: {found.why}",
                    got=f"{item.in_a_row.text} in a row",
                    expected=f"less than {supply.volts.shown()} together",
                    place=item.place,
                    clause="Kirchhoff's voltage law",
                ),
            )
        )
    strings = item.strings.value
    resistor = found.resistor
    parts = (
        Part(
            "LED", strings * item.in_a_row.value, f"{item.each.text}, {item.current.text}", (name,)
        ),
        resistor_part(resistor.value.value, resistor.rating.value, strings, name),
    )
    findings: tuple[Finding, ...] = ()
    if not found.steady:
        left_v = supply.volts.value - item.in_a_row.value * each.value
        findings = (
            Finding(
                code="leds-unsteady",
                is_error=False,
                what=f"{label} go dim as soon as the supply falls: too little of it is on their"
                " resistor",
                got=shown(left_v, "V"),
                expected=f"at least {shown(supply.volts.value * HEADROOM.value / 100, 'V')}",
                place=item.place,
                clause=HEADROOM.source,
            ),
        )
    figures = (resistor.value, resistor.power, resistor.rating, found.most, found.nominal)
    return Found(figures, parts, findings)


def resistor_part(ohm: float, rating_w: float, quantity: int, for_: str) -> Part:
    """Resistors on a shopping list."""
    return Part("resistor", quantity, f"{shown(ohm, 'ohm', 6)}, {rating_w:g} W", (for_,))
