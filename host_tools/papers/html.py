"""Sheets as one HTML page with a print style sheet."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup, escape

from gen import __version__
from gen.resources import resource
from gen.templating import templates_in
from host_tools.papers.sheet import Cautions, Figures, Notes
from host_tools.papers.table import Change, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from host_tools.papers.sheet import Block, Sheet


@dataclass(frozen=True)
class Paper:
    """A paper size; the frame leaves 20 mm at the left for filing and 10 mm elsewhere, as ISO 5457
    has it (from memory)."""

    name: str
    width_mm: float
    height_mm: float


PAPERS = {"a4": Paper("A4", 210, 297), "letter": Paper("Letter", 215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1 size A (from memory)."""

FLAGS = {Change.NEW: "\u25b2", Change.CHANGED: "\u25b3", Change.GONE: "\u2715", Change.NONE: ""}
"""What stands before the word in the margin of a row that is not as it was."""

SWATCHES = {
    "red": "#c8102e",
    "orange": "#f28c28",
    "amber": "#ffbf00",
    "yellow": "#ffe14d",
    "green": "#1b8a3a",
    "blue": "#1f5fb4",
    "violet": "#7a3fa0",
    "purple": "#7a3fa0",
    "pink": "#f4a6c0",
    "brown": "#7b4a21",
    "black": "#000000",
    "white": "#ffffff",
    "grey": "#9a9a9a",
    "gray": "#9a9a9a",
}
"""Colour words that are shown as well as said."""

_WORD = re.compile(r"[a-z]+", re.IGNORECASE)


@dataclass(frozen=True)
class Imprint:
    """What stands on every page: whose papers these are."""

    ship: str
    source: str
    board: str
    plan_id: str
    since: str = ""


def page(sheets: Sequence[Sheet], imprint: Imprint, paper: Paper) -> str:
    """All sheets as one page of HTML."""
    templates = resource("templates") / "papers"
    environment = templates_in(templates, autoescape=True)
    style = (templates / "papers.css").read_text(encoding="utf-8")
    return environment.get_template("papers.html.j2").render(
        version=__version__,
        title=f"{imprint.ship}: papers",
        style=Markup(style),  # noqa: S704 - our own file
        pages_css=Markup(_pages_css(sheets, imprint, paper)),  # noqa: S704 - every name is escaped
        sheets=sheets,
        whose=f"{imprint.source}, plan {imprint.plan_id}",
        flags=FLAGS,
        kind_of=_kind_of,
        widths=_widths,
        swatched=_swatched,
        drawn=Markup,
    )


def _kind_of(block: Block) -> str:
    kinds = {Table: "table", Figures: "figures", Cautions: "cautions", Notes: "notes"}
    return kinds[type(block)]


SINCE_PART = 0.11
"""Of a table's width, for the word in front of a row that is not as it was."""


def _widths(table: Table) -> list[str]:
    """The columns' widths in percent."""
    shares = [table.columns[index].share for index in table.shown()]
    rest = 1 - SINCE_PART if table.is_marked else 1
    widths = [share * 100 * rest / sum(shares) for share in shares]
    if table.is_marked:
        widths.insert(0, SINCE_PART * 100)
    return [f"{width:.2f}%" for width in widths]


def _swatched(line: str) -> Markup:
    """A name, behind a patch of the colour that it names."""
    named = [word for word in _WORD.findall(line) if word.lower() in SWATCHES]
    patches = "".join(
        f'<span class="swatch" style="background: {SWATCHES[word.lower()]}"></span>'
        for word in named
    )
    return Markup(patches) + escape(line)  # noqa: S704 - the patches are ours


def _pages_css(sheets: Sequence[Sheet], imprint: Imprint, paper: Paper) -> str:
    """The page boxes: size, frame, and a title block at the foot of each."""
    since = f"\nmarked since {imprint.since}" if imprint.since else ""
    board = f"\n{imprint.source}, {imprint.board}"
    plan = _string(f"plan {imprint.plan_id}")
    pages = '"\\A page " counter(page) " of " counter(pages)'
    css = [
        f":root {{ --sheet-width: {paper.width_mm}mm; }}",
        f"@page {{ size: {paper.width_mm}mm {paper.height_mm}mm; margin: 10mm 10mm 24mm 20mm; }}",
    ]
    for number, sheet in enumerate(sheets, start=1):
        name = f"sheet-{sheet.name}"
        middle = f"{sheet.title}\nsheet {number} of {len(sheets)}{since}"
        css += [
            f".{sheet.name} {{ page: {name}; }}",
            f"@page {name} {{",
            _foot("left", _string(f"{imprint.ship}{board}"), "35%", "left"),
            _foot("center", _string(middle), "30%", "left"),
            _foot("right", f"{plan} {pages}", "35%", "right"),
            "}",
        ]
    return "\n".join(css)


def _foot(place: str, content: str, width: str, align: str) -> str:
    return (
        f"  @bottom-{place} {{ content: {content}; width: {width}; text-align: {align};"
        " white-space: pre-wrap; overflow-wrap: anywhere; vertical-align: top;"
        " font: 7.5pt/1.3 'Liberation Sans', Arial, Helvetica, 'DejaVu Sans', sans-serif;"
        f" border: 0.3mm solid #000;{' border-left-width: 0;' if place != 'left' else ''}"
        " box-sizing: border-box; padding: 1mm 1.6mm; margin: 3mm 0 8mm; }"
    )


def _string(text: str) -> str:
    """A text as a CSS string; all but plain letters and digits are written as numbers, so that
    nothing in a name can end the string or the style sheet."""
    plain = "".join(
        letter if letter.isascii() and (letter.isalnum() or letter in " .,-_") else _escape(letter)
        for letter in text
    )
    return f'"{plain}"'


def _escape(letter: str) -> str:
    return f"\\{ord(letter):x} "
