"""Tables as papers print them and as spreadsheets read them."""

from __future__ import annotations

import csv
import enum
import io
from dataclasses import dataclass, field, replace

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""What makes a spreadsheet run a cell as a formula, full-width signs too (common practice, no
source)."""


class Look(enum.StrEnum):
    """How the cells of a column are printed."""

    TEXT = "text"
    NAME = "name"
    NUMBER = "number"
    MARK = "mark"
    BOX = "box"
    BLANK = "blank"


class Change(enum.StrEnum):
    """What became of a row since an older version."""

    NONE = ""
    NEW = "new"
    CHANGED = "changed"
    GONE = "gone"


@dataclass(frozen=True)
class Column:
    """`share` is its part of the table's width, of the sum of all. What is not `compared`
    may differ between versions without a row counting as changed."""

    title: str
    share: int
    look: Look = Look.TEXT
    compared: bool = True


@dataclass(frozen=True)
class Row:
    """`key` names what the row is about, and stays the same from version to version. A row is
    printed under the same heading as the one before if its table is `grouped` and their first
    cells are equal. `mark` is a small drawing for the column that looks like one."""

    key: str
    cells: tuple[str, ...]
    mark: str = field(default="", compare=False)
    change: Change = field(default=Change.NONE, compare=False)


@dataclass(frozen=True)
class Table:
    """`name` is the stem of its CSV file. Where two rows have one key (a function may have the name
    of a supply) the second is given another. A table that is not `printed` repeats what a drawing
    shows."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    grouped: bool = False
    printed: bool = True

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row.cells) != len(self.columns):
                raise ValueError(f"table {self.name}: row {row.key!r} has {len(row.cells)} cells")
        object.__setattr__(self, "rows", _told_apart(self.rows))

    def groups(self) -> list[list[Row]]:
        """The rows, those under one heading together."""
        made: list[list[Row]] = []
        for row in self.rows:
            if self.grouped and made and made[-1][0].cells[0] == row.cells[0]:
                made[-1].append(row)
            else:
                made.append([row])
        return made

    def shown(self) -> list[int]:
        """The indices of the columns that have anything in them, or are to be filled in."""
        fill = (Look.MARK, Look.BOX, Look.BLANK)
        return [
            index
            for index, column in enumerate(self.columns)
            if column.look in fill or any(row.cells[index] for row in self.rows)
        ]

    @property
    def is_marked(self) -> bool:
        """Whether any row is not as it was."""
        return any(row.change for row in self.rows)

    def with_rows(self, rows: tuple[Row, ...]) -> Table:
        """The same table with other rows."""
        return replace(self, rows=rows)

    def csv(self) -> str:
        """The table for a spreadsheet: a byte order mark, so that names in any script are read
        right; no cell is a formula (an apostrophe makes it text)."""
        stream = io.StringIO()
        stream.write("\ufeff")
        writer = csv.writer(stream)  # rows end in CR LF, as RFC 4180 has them
        told = [n for n, one in enumerate(self.columns) if one.look is not Look.MARK]
        marked = self.is_marked
        titles = [self.columns[number].title for number in told]
        writer.writerow([*(["since"] if marked else []), *map(_harmless, titles)])
        for row in self.rows:
            cells = [_harmless(row.cells[number]) for number in told]
            writer.writerow([*([str(row.change)] if marked else []), *cells])
        return stream.getvalue()


def _told_apart(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    seen: dict[str, int] = {}
    made = []
    for row in rows:
        seen[row.key] = seen.get(row.key, 0) + 1
        number = seen[row.key]
        made.append(row if number == 1 else replace(row, key=f"{row.key} ({number})"))
    return tuple(made)


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) else cell
