"""Tables of plain text, in columns that line up in any script."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

GAP = "  "


def text_table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """The lines of a table: its title, its columns' names if they have any, its rows. A column
    whose name begins with ">" is set to the right; one that is empty in all rows is left out."""
    yield title
    kept = [n for n in range(len(columns)) if any(row[n] for row in rows)]
    names = [columns[n].removeprefix(">") for n in kept]
    right = [columns[n].startswith(">") for n in kept]
    cells = [names, *([row[n] for n in kept] for row in rows)]
    widths = [max(_width(row[n]) for row in cells) for n in range(len(kept))]
    for row in cells if any(names) else cells[1:]:
        padded = [
            _padded(cell, width, to_right)
            for cell, width, to_right in zip(row, widths, right, strict=True)
        ]
        yield f"  {GAP.join(padded)}".rstrip()


def _padded(text: str, width: int, to_right: bool) -> str:
    space = " " * (width - _width(text))
    return space + text if to_right else text + space


def _width(text: str) -> int:
    """How many columns of a terminal a text takes (Unicode Standard Annex 11)."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )
