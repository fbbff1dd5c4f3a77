"""Connectors, contact by contact, and the terminals of all outputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheet import Cautions, Sheet
from host_tools.papers.sheets.relays import terminals_table
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Connector
    from host_tools.papers.facts import Facts
    from host_tools.papers.sheet import Block


def connectors_sheet(facts: Facts) -> Sheet:
    """A table for each connector, then that of terminals."""
    connectors = facts.electrics.connectors if facts.electrics is not None else ()
    tables = tuple(_table(number, one) for number, one in enumerate(connectors, 1))
    cautions = Cautions(
        (
            "A contact in the wrong place feeds battery voltage into a board's pin. Count from the"
            " number that is moulded into the plug, on the side that you solder.",
        )
    )
    blocks: tuple[Block, ...] = (cautions, *tables, terminals_table(facts))
    return Sheet("connectors", "Connectors and terminals", blocks)


def _table(number: int, connector: Connector) -> Table:
    returns = ", ".join(map(str, connector.returns)) or "none"
    spares = len(connector.spares)
    return Table(
        name=f"connector-{number}",
        title=connector.name,
        columns=(
            Column("Contact", 12, Look.NUMBER),
            Column("Carries", 60, Look.NAME),
            Column("Wire", 16, Look.NAME),
            Column("Current", 16, Look.NUMBER),
            Column("Done", 9, Look.BOX),
        ),
        rows=tuple(
            Row(
                str(one.number),
                (
                    str(one.number),
                    one.carries,
                    one.wire,
                    one.current.shown() if one.current is not None else "",
                    "",
                ),
            )
            for one in connector.contacts
        ),
        note=f"A contact carries {connector.rating_a:g} A by itself and"
        f" {connector.allowed_a.shown()} with so many loaded. Returns: {returns}, together"
        f" {connector.returned.shown()}. Spare: {spares}.",
    )
