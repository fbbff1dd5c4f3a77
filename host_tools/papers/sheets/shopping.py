"""The shopping list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheet import Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.papers.facts import Facts


def shopping_sheet(facts: Facts) -> Sheet:
    """What to buy, how many, and what for. Empty without parts."""
    parts = facts.electrics.parts if facts.electrics is not None else ()
    table = Table(
        name="parts",
        title="",
        columns=(
            Column("Got", 7, Look.BOX),
            Column("Number", 12, Look.NUMBER),
            Column("What", 36, Look.NAME),
            Column("Which", 50, Look.NAME),
            Column("For", 60),
        ),
        rows=tuple(
            Row(
                f"{one.what}/{one.spec}",
                ("", str(one.quantity), one.what, one.spec, ", ".join(one.for_)),
            )
            for one in parts
        ),
        note="Quantities are what is wired in; buy spare fuses of each rating.",
    )
    return Sheet("shopping", "Shopping list", (table,))
