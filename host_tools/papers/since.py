"""What changed since an older version: rows and drawings are marked, what is gone is listed."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from host_tools.papers.sheet import Figures
from host_tools.papers.table import Change, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from host_tools.papers.sheet import Block, Figure, Sheet
    from host_tools.papers.table import Row


def marked(sheets: Sequence[Sheet], older: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets with each row and drawing marked that is not as it was in `older`, and with the
    rows that were there and are no more, struck through, where they stood."""
    tables = {one.name: one for sheet in older for one in sheet.blocks if isinstance(one, Table)}
    figures = {
        (one.name, figure.key): figure
        for sheet in older
        for one in sheet.blocks
        if isinstance(one, Figures)
        for figure in one.figures
    }

    def block(one: Block) -> Block:
        if isinstance(one, Table):
            before = tables.get(one.name)
            return one.with_rows(_rows(one, before.rows if before is not None else ()))
        if isinstance(one, Figures):
            drawn = (_figure(each, figures.get((one.name, each.key))) for each in one.figures)
            return replace(one, figures=tuple(drawn))
        return one

    return tuple(replace(sheet, blocks=tuple(map(block, sheet.blocks))) for sheet in sheets)


def changes_in(sheet: Sheet) -> int:
    """How many rows and drawings of a sheet are marked."""
    rows = [row for one in sheet.blocks if isinstance(one, Table) for row in one.rows]
    drawn = [one for block in sheet.blocks if isinstance(block, Figures) for one in block.figures]
    return sum(bool(row.change) for row in rows) + sum(bool(one.change) for one in drawn)


def _rows(table: Table, before: Sequence[Row]) -> tuple[Row, ...]:
    old = {row.key: row for row in before}
    kept = {row.key for row in table.rows}
    compared = [number for number, one in enumerate(table.columns) if one.compared]
    made = [_row(row, old.get(row.key), compared) for row in table.rows]
    # A row that is gone stands behind the one that it followed.
    at = 0
    for row in before:
        if row.key in kept:
            at = next(n for n, one in enumerate(made) if one.key == row.key) + 1
        else:
            made.insert(at, replace(row, change=Change.GONE))
            at += 1
    return tuple(made)


def _row(row: Row, before: Row | None, compared: Sequence[int]) -> Row:
    if before is None:
        return replace(row, change=Change.NEW)
    same = row.mark == before.mark and all(row.cells[n] == before.cells[n] for n in compared)
    return row if same else replace(row, change=Change.CHANGED)


def _figure(figure: Figure, before: Figure | None) -> Figure:
    if before is None:
        return replace(figure, change=Change.NEW)
    return figure if figure.svg == before.svg else replace(figure, change=Change.CHANGED)
