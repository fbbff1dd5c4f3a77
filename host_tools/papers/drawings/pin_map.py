"""The board with its pins as they are printed on it, and what each one goes to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.papers.drawings.canvas import LINE_PITCH, Canvas
from host_tools.papers.letters import MM_PER_PT, wrapped
from host_tools.papers.sheet import Figure

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from gen.boards import Board, Header

WIDTH_MM = 180.0
BOARD_LEFT_MM, BOARD_RIGHT_MM = 68.0, 112.0
TEXT_PT = 7.0
PITCH_MM, GAP_MM = 5.0, 3.5
ROOM_MM = 60.0
PLUG_MM = 12.0


@dataclass(frozen=True)
class PinUse:
    """What a pin goes to; `outward` is a pin that drives, else it listens or is kept free."""

    text: str
    outward: bool
    is_used: bool = True


def pin_map(board: Board, uses: Mapping[str, PinUse]) -> tuple[Figure, ...]:
    """The two long sides in one drawing, and the far end, where there is one, in another."""
    sides = {side: [one for one in board.headers if one.side == side] for side in _SIDES}
    made = [_drawing(board.title, sides["left"], sides["right"], uses, plug=True)]
    if sides["inner end"] or sides["outer end"]:
        title = f"{board.title}: the two rows at the far end, from the right edge to the left"
        made.append(_drawing(title, sides["inner end"], sides["outer end"], uses, plug=False))
    names = ("sides", "far end")
    return tuple(
        Figure(f"{board.name}/{name}", title, svg)
        for name, (title, svg) in zip(names, made, strict=False)
    )


_SIDES = ("left", "right", "inner end", "outer end")


def _drawing(
    title: str,
    left: Sequence[Header],
    right: Sequence[Header],
    uses: Mapping[str, PinUse],
    *,
    plug: bool,
) -> tuple[str, str]:
    heights = [sum(map(_height, _rows(side, uses))) for side in (left, right)]
    top = PLUG_MM if plug else 9.0
    bottom = top + max(heights) + 4
    canvas = Canvas(WIDTH_MM, bottom + 1, title)
    width = BOARD_RIGHT_MM - BOARD_LEFT_MM
    middle = (BOARD_LEFT_MM + BOARD_RIGHT_MM) / 2
    canvas.box((BOARD_LEFT_MM, 5), (width, bottom - 5), stroke="thick")
    if plug:
        canvas.box((middle - 5, 1), (10, 8), fill="#fff")
        canvas.text((middle, 6), "USB", size_pt=7, anchor="middle", bold=True)
    else:
        canvas.text((BOARD_LEFT_MM + 2, 3.6), "inner row", size_pt=TEXT_PT)
        canvas.text((BOARD_RIGHT_MM - 2, 3.6), "outer row", size_pt=TEXT_PT, anchor="end")
    for side, x, out in ((left, BOARD_LEFT_MM, -1), (right, BOARD_RIGHT_MM, 1)):
        y = top
        for row in _rows(side, uses):
            if row is not None:
                _pin(canvas, row, (x, y), out)
            y += _height(row)
    return title, canvas.svg()


Row = tuple[str, "PinUse | None"]


def _rows(headers: Sequence[Header], uses: Mapping[str, PinUse]) -> list[Row | None]:
    """Every pin of a side; None is the gap between two headers."""
    rows: list[Row | None] = []
    for number, header in enumerate(headers):
        if number:
            rows.append(None)
        rows += [(pin, uses.get(pin)) for pin in header.pins]
    return rows


def _height(row: Row | None) -> float:
    if row is None:
        return GAP_MM
    _, use = row
    lines = len(wrapped(use.text, TEXT_PT, ROOM_MM)) if use is not None else 1
    return max(PITCH_MM, lines * TEXT_PT * MM_PER_PT * LINE_PITCH + 1.2)


def _pin(canvas: Canvas, row: Row, at: tuple[float, float], out: int) -> None:
    """One pin: its hole on the board's edge, its label inside, what it goes to outside."""
    label, use = row
    x, y = at
    middle = y + _height(row) / 2
    used = use is not None and use.is_used
    hole = (x - 2.4 if out > 0 else x + 0.2, middle - 1.1)
    canvas.box(hole, (2.2, 2.2), fill="#000" if used else "#fff", stroke="thin")
    inside = x - out * 3.4
    anchor = "end" if out > 0 else "start"
    canvas.text((inside, middle + 0.95), label, size_pt=TEXT_PT, anchor=anchor, bold=used)
    if use is None:
        return
    end = x + out * 6.5
    if use.is_used:
        canvas.line((x, middle), (end, middle))
        tip, tail = (end, end - out * 1.8) if use.outward else (x, x + out * 1.8)
        canvas.line((tail, middle - 0.9), (tip, middle), (tail, middle + 0.9))
    lines = wrapped(use.text, TEXT_PT, ROOM_MM)
    pitch = TEXT_PT * MM_PER_PT * LINE_PITCH
    first = middle + 0.9 - pitch * (len(lines) - 1) / 2
    anchor = "start" if out > 0 else "end"
    beside = end + out * 1.2 if use.is_used else x + out * 1.2
    canvas.text((beside, first), "\n".join(lines), size_pt=TEXT_PT, anchor=anchor)
