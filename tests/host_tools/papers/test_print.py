"""Nothing on paper overflows, overlaps or is cut: measured in the printed pages themselves."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from host_tools.papers import PAGE, PAPERS, papers
from host_tools.papers.pdf import pdf
from tests.host_tools.papers.nasty import STARTERS, facts_of, nasty
from tests.host_tools.papers.print import Page, outside, overlaps, pages

if TYPE_CHECKING:
    from pathlib import Path

SHIPS = ("salvor", "cutter", "lightship", "nasty")


@pytest.fixture(scope="module", params=[(s, p) for s in SHIPS for p in PAPERS], ids="-".join)
def printed(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Page, ...]:
    ship, paper = request.param
    folder: Path = tmp_path_factory.mktemp(ship)
    file = nasty(folder) if ship == "nasty" else STARTERS / f"{ship}.yaml"
    files, _ = papers(facts_of(file), PAPERS[paper])
    return pages(pdf(files[PAGE]), folder)


@pytest.mark.slow
def test_every_word_is_inside_the_frame(printed: tuple[Page, ...]) -> None:
    assert [(page.number, word) for page in printed for word in outside(page)] == []


@pytest.mark.slow
def test_no_word_lies_on_another(printed: tuple[Page, ...]) -> None:
    assert [(page.number, *pair) for page in printed for pair in overlaps(page)] == []


@pytest.mark.slow
def test_every_page_says_whose_it_is(printed: tuple[Page, ...]) -> None:
    for page in printed:
        foot = [word.text for word in page.words if word.top > page.height - 24]
        text = " ".join(foot)
        assert re.search(r"plan [0-9a-f]{12}", text)
        assert re.search(r"[a-z]+\.yaml", text)
        assert f"page {page.number} of {len(printed)}" in text
        assert re.search(r"sheet \d+ of \d+", text)


def test_the_measure_finds_what_is_wrong(tmp_path: Path) -> None:
    """Planted: a word in the margin, one on another, in HTML and in a drawing."""
    drawing = (
        '<svg width="40mm" height="20mm" viewBox="0 0 40 20"><g font-size="4">'
        '<text x="1" y="9">under</text><text x="4" y="10">over</text></g></svg>'
    )
    page = (
        "<style>@page { size: 210mm 297mm; margin: 10mm 10mm 24mm 20mm }</style>"
        '<p style="margin-left: -9mm">margin</p><p>good</p>'
        '<p style="position: relative; top: -7mm; left: 2mm">bad</p>' + drawing
    )
    (printed,) = pages(pdf(page), tmp_path)
    assert [word.text for word in outside(printed)] == ["margin"]
    found = [{one.text, other.text} for one, other in overlaps(printed)]
    assert {"under", "over"} in found
    assert {"good", "bad"} in found
