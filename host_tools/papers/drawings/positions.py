"""Small marks that show where a control stands."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from host_tools.papers.drawings.canvas import Canvas

if TYPE_CHECKING:
    from gen.plan import Control

SIZE_MM = 5.4
MOST_UPRIGHT = 5
"""With more positions than this the mark is a row, as buttons are."""


def position_mark(control: Control, position: int | None) -> str:
    """A lever's slot with its positions, the one that is meant filled; or a dial with its sweep."""
    count = len(control.positions)
    if position is None:
        return _dial(f"{control.name} turned")
    title = f"{control.name} {control.positions[position].name}"
    if count > MOST_UPRIGHT:
        return _row(title, count, position)
    canvas = Canvas(SIZE_MM, SIZE_MM, title)
    middle, top, pitch = SIZE_MM / 2, 1.1, (SIZE_MM - 2.2) / max(count - 1, 1)
    canvas.line((middle, top), (middle, SIZE_MM - top), stroke="thin")
    for index in range(count):
        # The widest pulse is the position at the top: "up" of a key.
        place = (middle, SIZE_MM - top - index * pitch)
        if index == position:
            canvas.circle(place, 0.9, fill="#000")
        else:
            canvas.circle(place, 0.55, fill="#fff", stroke="thin")
    return canvas.svg()


def _row(title: str, count: int, position: int) -> str:
    pitch = 1.9
    canvas = Canvas(pitch * count + 0.6, 3.0, title)
    for index in range(count):
        place = (0.3 + pitch * (index + 0.5), 1.5)
        if index == position:
            canvas.circle(place, 0.9, fill="#000")
        else:
            canvas.circle(place, 0.5, fill="#fff", stroke="thin")
    return canvas.svg()


def _dial(title: str) -> str:
    canvas = Canvas(SIZE_MM, SIZE_MM, title)
    centre, radius = (SIZE_MM / 2, SIZE_MM / 2 + 0.4), 1.9
    sweep = [math.radians(angle) for angle in range(225, -46, -15)]
    canvas.line(
        *(
            (centre[0] + radius * math.cos(angle), centre[1] - radius * math.sin(angle))
            for angle in sweep
        )
    )
    canvas.line(centre, (centre[0] + 1.2, centre[1] - 1.2), stroke="thick")
    return canvas.svg()
