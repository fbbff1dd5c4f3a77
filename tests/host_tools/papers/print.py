"""Papers as they come out of the printer: where each word lies on its page, read out of the PDF."""

from __future__ import annotations

import subprocess
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

MM_PER_PT = 25.4 / 72
FRAME_MM = {"left": 20.0, "right": 10.0, "top": 10.0, "bottom": 8.0}
SLACK_MM = 0.3
_NS = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Word:
    """One word and its box in mm from the page's upper left corner."""

    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True)
class Page:
    number: int
    width: float
    height: float
    words: tuple[Word, ...]

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


def pages(pdf: bytes, folder: Path) -> tuple[Page, ...]:
    """The pages of a PDF, by poppler."""
    file = folder / "printed.pdf"
    file.write_bytes(pdf)
    told = subprocess.run(
        ["pdftotext", "-bbox", str(file), "-"], check=True, capture_output=True, timeout=60
    ).stdout
    root = ET.fromstring(told.replace(b"&#x", b"x"))  # noqa: S314 - our own PDF
    made = []
    for number, page in enumerate(root.iter(f"{_NS}page"), 1):
        words = tuple(_word(one) for one in page.iter(f"{_NS}word"))
        made.append(Page(number, _mm(page, "width"), _mm(page, "height"), words))
    return tuple(made)


def _word(word: ET.Element) -> Word:
    box = [_mm(word, name) for name in ("xMin", "yMin", "xMax", "yMax")]
    return Word(word.text or "", *box)


def _mm(element: ET.Element, name: str) -> float:
    return float(element.attrib[name]) * MM_PER_PT


def outside(page: Page) -> Iterator[Word]:
    """The words that are not wholly within the frame."""
    for word in page.words:
        inside = (
            word.left >= FRAME_MM["left"] - SLACK_MM
            and word.right <= page.width - FRAME_MM["right"] + SLACK_MM
            and word.top >= FRAME_MM["top"] - SLACK_MM
            and word.bottom <= page.height - FRAME_MM["bottom"] + SLACK_MM
        )
        if not inside:
            yield word


def overlaps(page: Page) -> Iterator[tuple[Word, Word]]:
    """Pairs of words that lie on each other. A word's box is as high as its typeface's tallest
    letters, so that boxes of two close lines may touch: a third of the lower one is allowed."""
    for one, other in combinations(page.words, 2):
        across = min(one.right, other.right) - max(one.left, other.left)
        down = min(one.bottom, other.bottom) - max(one.top, other.top)
        lowest = min(one.bottom - one.top, other.bottom - other.top)
        if across > SLACK_MM and down > 0.34 * lowest:
            yield one, other
