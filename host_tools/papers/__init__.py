"""The papers: what is printed, hung beside the bench and taken to it.

Sheets are made of tables and drawings (sheets/, drawings/), printed by one page of HTML with a
print style sheet (html.py), by a PDF of the same page (pdf.py) and as a CSV file a table. Same ship
file, same bytes: no date, no user, no path.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from host_tools.papers.html import PAPERS, Imprint, page
from host_tools.papers.sheet import Figures
from host_tools.papers.sheets import all_sheets
from host_tools.papers.sheets.cover import cover
from host_tools.papers.since import marked
from host_tools.papers.table import Table

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from host_tools.papers.facts import Facts
    from host_tools.papers.html import Paper
    from host_tools.papers.sheet import Sheet

PAGE = "papers.html"


def papers(
    facts: Facts, paper: Paper = PAPERS["a4"], older: Facts | None = None
) -> tuple[dict[str, str], tuple[Sheet, ...]]:
    """The files of a ship's papers by their place in their folder, and the sheets that they hold.
    With `older`, an older version of the ship, what is not as it was is marked."""
    sheets = all_sheets(facts)
    since = ""
    if older is not None:
        sheets = marked(sheets, all_sheets(older))
        since = f"plan {older.plan.plan_id}"
    whole = (cover(facts, sheets, since), *sheets)
    plan = facts.plan
    imprint = Imprint(plan.ship, plan.source, plan.board, plan.plan_id, since)
    files = {PAGE: page(whole, imprint, paper)}
    for name, text in _tables(sheets):
        files[f"tables/{name}.csv"] = text
    for name, text in _drawings(sheets):
        files[f"drawings/{name}.svg"] = text
    return files, whole


def _tables(sheets: Sequence[Sheet]) -> Iterator[tuple[str, str]]:
    for sheet in sheets:
        for block in sheet.blocks:
            if isinstance(block, Table) and block.rows:
                yield block.name, block.csv()


def _drawings(sheets: Sequence[Sheet]) -> Iterator[tuple[str, str]]:
    taken: dict[str, int] = {}
    for sheet in sheets:
        for block in sheet.blocks:
            for figure in block.figures if isinstance(block, Figures) else ():
                assert isinstance(block, Figures)  # noqa: S101 - it has figures
                plain = re.sub(r"[^a-z0-9]+", "-", f"{block.name} {figure.key}".lower()).strip("-")
                taken[plain] = taken.get(plain, 0) + 1
                number = f"~{taken[plain]}" if taken[plain] > 1 else ""
                yield f"{plain}{number}", f"{figure.svg}\n"


__all__ = ["PAGE", "PAPERS", "papers"]
