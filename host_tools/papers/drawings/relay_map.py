"""Relays and transistors in the ship file's order: which pin, which contact, which load."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.papers.drawings.canvas import LINE_PITCH, Canvas
from host_tools.papers.letters import MM_PER_PT, wrapped
from host_tools.papers.sheet import Figure

if TYPE_CHECKING:
    from collections.abc import Sequence

WIDTH_MM = 180.0
MOST_HEIGHT_MM = 205.0
TEXT_PT = 7.0
NAME_ROOM_MM, TO_ROOM_MM = 46.0, 75.0
LINE_MM = TEXT_PT * MM_PER_PT * LINE_PITCH
PIN_X, BODY_X, CONTACT_X, TERMINAL_X, TO_X = 2.0, 27.0, 80.0, 93.0, 103.0


@dataclass(frozen=True)
class Terminal:
    """A terminal and where its wire goes."""

    name: str
    to: str


@dataclass(frozen=True)
class SwitchRow:
    """One switch: a relay has three terminals (NO, COM, NC), others one or two."""

    key: str
    pin: str
    name: str
    note: str
    is_relay: bool
    terminals: tuple[Terminal, ...]


def relay_map(rows: Sequence[SwitchRow]) -> tuple[Figure, ...]:
    """The rows in as many drawings as pages need."""
    pages: list[list[SwitchRow]] = []
    room = 0.0
    for row in rows:
        height = _height(row)
        if not pages or height > room:
            pages.append([])
            room = MOST_HEIGHT_MM
        pages[-1].append(row)
        room -= height
    return tuple(
        Figure(f"switches/{number}", "", _page(page)) for number, page in enumerate(pages, 1)
    )


def _page(rows: Sequence[SwitchRow]) -> str:
    height = sum(map(_height, rows)) + 6
    canvas = Canvas(WIDTH_MM, height, "Relays and transistors")
    heads = ((PIN_X, "board"), (BODY_X, "output"), (TERMINAL_X - 3, "terminal, and where to"))
    for x, word in heads:
        canvas.text((x, 3.5), word, size_pt=TEXT_PT, bold=True)
    y = 5.0
    for row in rows:
        _switch(canvas, row, y)
        y += _height(row)
    return canvas.svg()


def _lines(text: str, room: float) -> int:
    return len(wrapped(text, TEXT_PT, room))


def _spaces(row: SwitchRow) -> list[float]:
    return [max(4.2, _lines(one.to, TO_ROOM_MM) * LINE_MM + 1.0) for one in row.terminals]


def _height(row: SwitchRow) -> float:
    names = (_lines(row.name, NAME_ROOM_MM) + _lines(row.note, NAME_ROOM_MM)) * LINE_MM
    return max(sum(_spaces(row)), names + 2.0, 8.0) + 2.0


def _switch(canvas: Canvas, row: SwitchRow, top: float) -> None:
    height = _height(row) - 2.0
    middle = top + height / 2
    canvas.box((PIN_X, middle - 2.4), (17, 4.8))
    canvas.text(
        (PIN_X + 8.5, middle + 0.95), row.pin, size_pt=TEXT_PT, anchor="middle", bold=True,
        room_mm=16,
    )  # fmt: skip
    canvas.line((PIN_X + 17, middle), (BODY_X, middle))
    canvas.box((BODY_X, top), (TERMINAL_X - BODY_X, height), dashes="1.6 0.8")
    used = canvas.text(
        (BODY_X + 1.8, top + LINE_MM + 0.2), row.name, size_pt=TEXT_PT, bold=True,
        room_mm=NAME_ROOM_MM,
    )  # fmt: skip
    canvas.text(
        (BODY_X + 1.8, top + used + LINE_MM + 0.2), row.note, size_pt=TEXT_PT, room_mm=NAME_ROOM_MM
    )
    spaces = _spaces(row)
    y = top + (height - sum(spaces)) / 2
    places = []
    for terminal, space in zip(row.terminals, spaces, strict=True):
        centre = y + space / 2
        places.append(centre)
        canvas.box((TERMINAL_X - 1.2, centre - 1.2), (2.4, 2.4), fill="#fff")
        canvas.text((TERMINAL_X + 1.7, centre - 0.7), terminal.name, size_pt=5.5)
        canvas.line((TERMINAL_X + 1.2, centre), (TO_X, centre))
        lines = _lines(terminal.to, TO_ROOM_MM)
        canvas.text(
            (TO_X + 1, centre + 0.9 - LINE_MM * (lines - 1) / 2), terminal.to, size_pt=TEXT_PT,
            room_mm=TO_ROOM_MM,
        )  # fmt: skip
        y += space
    if row.is_relay:
        _contact(canvas, *places)
    else:
        for place in places:
            canvas.line((CONTACT_X, place), (TERMINAL_X - 1.2, place))
        first, last = places[0], places[-1]
        canvas.line((CONTACT_X, first - 1.4), (CONTACT_X, last + 1.4), stroke="thick")
        middle = (first + last) / 2
        canvas.line((CONTACT_X - 4, middle), (CONTACT_X - 0.8, middle), dashes="0.8 0.6")


def _contact(canvas: Canvas, opened: float, common: float, closed: float) -> None:
    """A changeover contact at rest: its arm lies on NC."""
    fixed, pivot = CONTACT_X + 1.5, CONTACT_X + 7
    for y, way in ((opened, 1.2), (closed, -1.2)):
        canvas.line((fixed, y + way), (fixed, y), (TERMINAL_X - 1.2, y))
    canvas.line((pivot, common), (TERMINAL_X - 1.2, common))
    canvas.line((pivot, common), (fixed - 0.6, closed - 1.2))
