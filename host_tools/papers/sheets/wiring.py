"""The wiring schedule: every wire, by its number."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheet import Cautions, Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Wire
    from host_tools.papers.facts import Facts


def wiring_sheet(facts: Facts) -> Sheet:
    """Number, ends, size, colour, length, what it carries, and its fuse. Empty without wires."""
    wires = facts.electrics.wires if facts.electrics is not None else ()
    table = Table(
        name="wires",
        title="",
        columns=(
            Column("Wire", 11, Look.NAME),
            Column("From", 33),
            Column("To", 33),
            Column("Size", 17, Look.NUMBER),
            Column("Colour", 16, Look.NAME),
            Column("Length", 12, Look.NUMBER),
            Column("Carries", 31),
            Column("Current", 14, Look.NUMBER),
            Column("Drop", 15, Look.NUMBER),
            Column("Fuse", 9, Look.NAME),
            Column("Laid", 9, Look.BOX),
        ),
        rows=tuple(Row(_key(one), _cells(one)) for one in wires),
        note="Mark both ends of each wire with its number before it is laid. Current: the most that"
        " the plan allows at once; drop: one way, at that current.",
    )
    cautions = Cautions(
        (
            "Battery off and out of the hull while wires are laid. No wire thinner than its fuse"
            " allows; none through an edge without a grommet; none near shafts, winches and water.",
        )
    )
    return Sheet("wiring", "Wiring schedule", (cautions, table))


def _key(wire: Wire) -> str:
    """Its ends, which stay what they are when numbers move on."""
    return f"{wire.from_.text} - {wire.to.text} ({', '.join(wire.carries)})"


def _cells(wire: Wire) -> tuple[str, ...]:
    return (
        wire.number,
        wire.from_.text,
        wire.to.text,
        wire.size_name,
        wire.colour,
        f"{wire.length_m:g} m" if wire.length_m is not None else "",
        ", ".join(wire.carries),
        wire.current.shown() if wire.current is not None else "",
        wire.drop.shown() if wire.drop is not None else "",
        wire.fuse,
        "",
    )
