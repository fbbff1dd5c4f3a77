"""Text in columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


def aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of equal length with every column padded to its widest cell and one space between."""
    widths = [max(len(cell) for cell in column) for column in zip(*rows, strict=True)]
    return [
        " ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
