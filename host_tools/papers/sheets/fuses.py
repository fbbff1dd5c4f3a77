"""The fuse table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.electrical.figure import Figure
from host_tools.electrical.fuses import KINDS
from host_tools.papers.sheet import Cautions, Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Fuse
    from host_tools.electrical.figure import Input
    from host_tools.papers.facts import Facts


def fuses_sheet(facts: Facts) -> Sheet:
    """Every fuse: what it is, what it protects, why it is that one. Empty without any."""
    fuses = facts.electrics.fuses if facts.electrics is not None else ()
    table = Table(
        name="fuses",
        title="",
        columns=(
            Column("Fuse", 9, Look.NAME),
            Column("Protects", 32, Look.NAME),
            Column("Rating", 12, Look.NUMBER),
            Column("Kind", 20, Look.NAME),
            Column("Why", 50),
            Column("A motor held fast", 34),
            Column("Fitted", 11, Look.BOX),
        ),
        rows=tuple(Row(one.branch, _cells(one)) for one in fuses),
        note=f"How a fuse was chosen: pinrail power {facts.plan.source} --explain BRANCH",
    )
    cautions = Cautions(
        (
            "A fuse protects its wire, not the load. Never fit a bigger one, and never bridge one:"
            " find out why it blew.",
            "Battery off before a fuse is changed.",
        )
    )
    return Sheet("fuses", "Fuse table", (cautions, table))


def _cells(fuse: Fuse) -> tuple[str, ...]:
    colour = KINDS[fuse.kind].colour(fuse.rating_a) if fuse.kind in KINDS else ""
    given = "; ".join(f"{_what(one)} {one.shown()}" for one in fuse.why.given)
    return (
        fuse.number,
        fuse.branch,
        f"{fuse.rating_a:g} A",
        f"{fuse.kind}, {colour}" if colour else fuse.kind,
        f"given in the ship file; {given}" if fuse.given else given,
        fuse.blows_on_stall,
        "",
    )


def _what(one: Input) -> str:
    """What it is, without whose: that stands beside it."""
    return one.what if isinstance(one, Figure) else one.label
