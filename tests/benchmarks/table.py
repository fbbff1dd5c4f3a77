"""One line a figure, with the goal beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.render.columns import aligned

if TYPE_CHECKING:
    from collections.abc import Sequence


@dataclass(frozen=True)
class Row:
    """One figure. `goal` is "" and `met` None where a figure is given for comparison only."""

    figure: str
    of: str
    value: str
    goal: str = ""
    met: bool | None = None


def at_most(figure: str, of: str, value: float, most: float, unit: str) -> Row:
    """A figure that is good when it is small."""
    return Row(figure, of, f"{value:.4g} {unit}", f"<= {most:g} {unit}", value <= most)


def at_least(figure: str, of: str, value: float, least: float, unit: str) -> Row:
    """A figure that is good when it is large."""
    return Row(figure, of, f"{value:,.0f} {unit}", f">= {least:,g} {unit}", value >= least)


def printed(rows: Sequence[Row]) -> str:
    """The table as text."""
    marks = {True: "met", False: "SHORT", None: ""}
    head = ("figure", "of", "measured", "goal", "")
    cells = [(row.figure, row.of, row.value, row.goal, marks[row.met]) for row in rows]
    return "\n".join(aligned([head, *cells]))
