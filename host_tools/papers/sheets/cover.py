"""The cover: whose papers these are, what is in them, and what comes before everything else."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheet import Cautions, Notes, Sheet
from host_tools.papers.since import changes_in
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from host_tools.papers.facts import Facts

ABOUT = {
    "control-card": "what each control does at each position; stands by the transmitter",
    "functions": "one line a function",
    "wiring": "every wire, by number",
    "connectors": "what is on each contact and each terminal",
    "pins": "the board seen from above",
    "relays": "every relay, transistor and driver output with its terminals",
    "circuits": "one circuit a function",
    "supplies": "from the battery to every load",
    "fuses": "every fuse, and why it is that one",
    "shopping": "what to buy",
    "commissioning": "the first time with a battery, step by step",
    "faults": "what to measure where when something does not work",
}


def cover(facts: Facts, sheets: Sequence[Sheet], since: str) -> Sheet:
    """The cover in front of `sheets`."""
    plan = facts.plan
    columns = [
        Column("Sheet", 9, Look.NUMBER),
        Column("Title", 34, Look.NAME),
        Column("What it is for", 82),
    ]
    if since:
        columns.append(Column("Marked", 14, Look.NUMBER))
    rows = []
    for number, sheet in enumerate(sheets, start=2):
        cells = [str(number), sheet.title, ABOUT[sheet.name]]
        if since:
            cells.append(str(changes_in(sheet) or "\u2013"))
        rows.append(Row(sheet.name, tuple(cells)))
    what = Table(
        name="cover",
        title="",
        columns=(Column("", 30, Look.NAME), Column("", 95)),
        rows=tuple(
            Row(key, (key, text))
            for key, text in (
                ("Ship", plan.ship),
                ("Remark", plan.remark),
                ("Ship file", plan.source),
                ("Plan", plan.plan_id),
                ("Board", facts.board.title),
                ("Changes", f"marked against {since}" if since else ""),
            )
            if text
        ),
    )
    register = Table(name="register", title="Sheets", columns=tuple(columns), rows=tuple(rows))
    marks = (
        "\u25b2 new, \u25b3 changed, \u2715 gone: a thick bar at the left of the row or drawing,"
        " and the word.",
    )
    return Sheet(
        "cover",
        f"Papers of {plan.ship}",
        (
            what,
            *_findings(facts),
            register,
            *([Notes(marks)] if since else []),
            Cautions(
                (
                    "Winches, cranes and davits pinch and pull; propellers cut. Keep clear whenever"
                    " the battery is connected.",
                    "A fuse at the battery, as near as it goes, no bigger than its wire carries."
                    " Batteries burn: charge where nothing can, never alone.",
                    "A program cannot open a welded contact. Have a main switch in reach.",
                    "Local codes and licensed practice come first.",
                )
            ),
            Notes(
                (
                    "Everything here was made from the ship file, and so was the sketch: a board"
                    " that says the same plan does what these papers say. Where a wire and a paper"
                    " differ, correct the ship file and print anew.",
                )
            ),
        ),
    )


def _findings(facts: Facts) -> tuple[Cautions | Table, ...]:
    """What the electrical sums found unsafe or unwise: before anything is wired by these papers."""
    found = facts.electrics.findings if facts.electrics is not None else ()
    if not found:
        return ()
    rows = tuple(
        Row(
            f"{one.code}/{one.place.line}/{one.what}",
            (
                "unsafe" if one.is_error else "unwise",
                f"{one.what} ({one.got}; {one.expected})",
                str(one.place.line),
            ),
        )
        for one in found
    )
    columns = (
        Column("", 14, Look.NAME),
        Column("Found by the electrical sums", 102),
        Column("Line", 9, Look.NUMBER, compared=False),
    )
    table = Table("findings", "Put right first", columns, rows)
    unsafe = sum(one.is_error for one in found)
    if not unsafe:
        return (table,)
    text = (
        f"Do not wire by these papers yet: {unsafe} of what was found is unsafe. Correct the ship"
    )
    return Cautions((f"{text} ship file, and print anew.",)), table
