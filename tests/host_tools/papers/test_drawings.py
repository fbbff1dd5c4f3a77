"""Drawings: whole, the same everywhere, and nothing on them runs over their edge."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.papers import papers
from host_tools.papers.drawings.canvas import Canvas
from host_tools.papers.letters import width_mm, wrapped
from tests.host_tools.papers.nasty import STARTERS, facts_of, nasty

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = str(Path(__file__).parents[3])
PINRAIL = [sys.executable, "-c", "import sys; from host_tools.cli import main; sys.exit(main())"]
SVG = "{http://www.w3.org/2000/svg}"
SHIPS = [*sorted(path.stem for path in STARTERS.glob("*.yaml")), "nasty"]


@pytest.fixture(scope="module", params=SHIPS)
def drawings(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    folder = tmp_path_factory.mktemp("ship")
    ship = nasty(folder) if request.param == "nasty" else STARTERS / f"{request.param}.yaml"
    files, _ = papers(facts_of(ship))
    return {name: text for name, text in files.items() if name.endswith(".svg")}


def lines_of(root: ET.Element) -> Iterator[tuple[str, float, float, float, str]]:
    """Every line of text with its place, its size in pt and how it is anchored."""
    for text in root.iter(f"{SVG}text"):
        size_pt = float(text.attrib["font-size"]) * 72 / 25.4
        anchor = text.get("text-anchor", "start")
        spans = list(text) or [text]
        for line in spans:
            x, y = (float(line.get(name) or text.attrib[name]) for name in "xy")
            yield line.text or "", x, y, size_pt, anchor


def test_no_text_runs_over_the_edge(drawings: dict[str, str]) -> None:
    for name, svg in drawings.items():
        root = ET.fromstring(svg)  # noqa: S314 - our own
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        for text, x, y, size_pt, anchor in lines_of(root):
            wide = width_mm(text, size_pt)
            left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
            assert -0.1 <= left <= left + wide <= width + 0.1, (name, text)
            assert 0 < y <= height, (name, text)


def test_no_line_runs_over_the_edge(drawings: dict[str, str]) -> None:
    for name, svg in drawings.items():
        root = ET.fromstring(svg)  # noqa: S314 - our own
        _, _, width, height = map(float, root.attrib["viewBox"].split())
        for line in root.iter(f"{SVG}polyline"):
            for point in line.attrib["points"].split():
                x, y = map(float, point.split(","))
                assert 0 <= x <= width, (name, point)
                assert 0 <= y <= height, (name, point)


def test_a_drawing_brings_nothing_along(drawings: dict[str, str]) -> None:
    for svg in drawings.values():
        root = ET.fromstring(svg)  # noqa: S314 - our own
        assert {one.tag.removeprefix(SVG) for one in root.iter()} <= {
            *("svg", "title", "g", "polyline", "rect", "circle", "text", "tspan", "path", "polygon")
        }
        names = {name for one in root.iter() for name in one.attrib}
        assert not {name for name in names if name in ("id", "style", "class") or "on" == name[:2]}
        assert "href" not in svg


def test_every_number_is_short(drawings: dict[str, str]) -> None:
    """What another computer's last digit would change is rounded away."""
    for name, svg in drawings.items():
        numbers = re.findall(r"\d+\.(\d{3,})", re.sub(r">[^<]*<", "><", svg))
        assert [one for one in numbers if one != "352778"] == [], name


@pytest.mark.parametrize("text", ["<b>&amp;</b>", "$x_1^2$", "]]>", "\\sqrt{2}", "a_b^c"])
def test_text_is_text(text: str) -> None:
    canvas = Canvas(100, 20, text)
    canvas.text((5, 10), text)
    canvas.symbol("Lamp2", (5, 5), (25, 5))
    root = ET.fromstring(canvas.svg())  # noqa: S314 - our own
    assert root.findtext(f"{SVG}title") == text
    assert [one.text for one in root.iter(f"{SVG}text")] == [text]


@given(
    st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), max_size=80),
    st.floats(4, 12),
    st.floats(8, 120),
)
def test_wrapped_lines_fit_and_lose_nothing(text: str, size_pt: float, room_mm: float) -> None:
    lines = wrapped(text, size_pt, room_mm)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(len(line) == 1 or width_mm(line, size_pt) <= room_mm for line in lines)


def test_the_same_ship_gives_the_same_bytes_whatever_the_hash_seed(tmp_path: Path) -> None:
    ship = nasty(tmp_path)
    written = []
    for seed in ("1", "2"):
        out = tmp_path / seed
        command = [*PINRAIL, "papers", str(ship), "--out", str(out)]
        seeded = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": ROOT}
        subprocess.run(command, check=True, capture_output=True, env=seeded)
        files = sorted(path for path in out.rglob("*") if path.is_file())
        written.append([(path.relative_to(out), path.read_bytes()) for path in files])
    assert written[0] == written[1]
    assert len(written[0]) > 20


def test_drawing_does_without_matplotlib_and_leaves_it_to_others() -> None:
    work = (
        "import sys; from host_tools.papers.drawings.canvas import Canvas; c = Canvas(9, 9, 'x');"
        "c.symbol('Lamp2', (0, 0), (9, 9)); c.svg(); assert 'matplotlib' not in sys.modules;"
        "import matplotlib.figure"
    )
    subprocess.run(
        [sys.executable, "-c", work],
        check=True,
        capture_output=True,
        env={**os.environ, "PYTHONPATH": ROOT},
    )
