"""What changed since an older version is marked, nothing else is, and never by colour alone."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from host_tools.papers import PAGE, papers
from host_tools.papers.sheet import Figures
from host_tools.papers.since import changes_in
from host_tools.papers.table import Change, Table
from tests.host_tools.papers.nasty import STARTERS, changed, facts_of

if TYPE_CHECKING:
    from pathlib import Path

    from host_tools.papers.sheet import Sheet

LONGER = {"limit: {pay out: 3 s, heave: 4 s}": "limit: {pay out: 3 s, heave: 5 s}"}
NO_BELL = {
    """  bell:
    pulse: bell pull up                         # one stroke a press, however long you hold it
    for: 0.4 s
    drives: bell relay
    load: {supply: 12 V, draws: 0.6 A, kind: solenoid}
""": "",
    "  bell relay:    {pin: A2, active: low}\n": "",
    "  bell pull:   {from: bridge key}\n": "",
    "    bridge key: D4\n": "",
    """  the bell strikes once a press:
    - hold bell pull up
    - expect bell on
    - expect bell off within 0.5 s
    - expect bell off for 1 s
""": "",
}


def changes(sheets: tuple[Sheet, ...]) -> dict[str, dict[str, Change]]:
    """What is marked in each table and each set of drawings, by what it is about."""
    found: dict[str, dict[str, Change]] = {}
    for sheet in sheets:
        for block in sheet.blocks:
            if isinstance(block, Table):
                found[block.name] = {row.key: row.change for row in block.rows if row.change}
            if isinstance(block, Figures):
                mine = found.setdefault(f"drawn {block.name}", {})
                mine |= {one.key: one.change for one in block.figures if one.change}
    return {name: marks for name, marks in found.items() if marks}


def since(tmp_path: Path, new: dict[str, str], old: dict[str, str]) -> tuple[Sheet, ...]:
    (tmp_path / "new").mkdir()
    (tmp_path / "old").mkdir()
    now = changed("launch", tmp_path / "new", new)
    before = changed("launch", tmp_path / "old", old)
    return papers(facts_of(now), older=facts_of(before))[1]


def test_the_same_ship_has_no_mark(tmp_path: Path) -> None:
    sheets = since(tmp_path, {}, {})
    assert changes(sheets) == {}
    assert sum(map(changes_in, sheets)) == 0


def test_a_changed_limit_marks_its_rows_alone(tmp_path: Path) -> None:
    marks = changes(since(tmp_path, LONGER, {}))
    assert marks["functions"] == {"capstan": Change.CHANGED}
    assert "control-card" not in marks
    assert "wires" not in marks
    assert "pins" not in marks


def test_what_is_new_and_what_is_gone(tmp_path: Path) -> None:
    gone = changes(since(tmp_path, NO_BELL, {}))
    assert gone["functions"] == {"bell": Change.GONE}
    assert gone["control-card"] == {"bell pull/up": Change.GONE}
    assert gone["pins"] == {"D4": Change.GONE, "A2": Change.GONE}
    assert set(gone["terminals"].values()) == {Change.GONE}


def test_what_is_new(tmp_path: Path) -> None:
    new = changes(since(tmp_path, {}, NO_BELL))
    assert new["functions"] == {"bell": Change.NEW}
    assert Change.NEW in new["drawn circuit"].values()
    assert new["terminals"].keys() == {f"bell relay/{one}" for one in ("NO", "COM", "NC")}


def test_rows_that_are_gone_stand_where_they_stood(tmp_path: Path) -> None:
    sheets = since(tmp_path, NO_BELL, {})
    every = (block for sheet in sheets for block in sheet.blocks)
    table = next(one for one in every if isinstance(one, Table) and one.name == "functions")
    keys = [row.key for row in table.rows]
    assert keys == ["rudder", "navigation lights", "horn", "bell", "capstan"]


def test_a_mark_is_a_word_a_sign_and_a_bar(tmp_path: Path) -> None:
    old = changed("launch", tmp_path, NO_BELL)
    page = papers(facts_of(STARTERS / "launch.yaml"), older=facts_of(old))[0][PAGE]
    flag = r'<tr class="new">\s*<td class="since"><span class="flag">(.)</span> (\w+)'
    marked = re.findall(flag, page)
    assert set(marked) == {("\u25b2", "new")}
    style = re.search(r"tr\.new > td\.since[^{]*\{([^}]*)\}", page)
    assert style is not None
    assert re.search(r"border-left: 1\.4mm solid #000", style[1])
    assert f"plan {facts_of(old).plan.plan_id}" in page


@pytest.mark.parametrize("what", ["tables/functions.csv", "tables/wires.csv"])
def test_tables_for_spreadsheets_are_marked_too(tmp_path: Path, what: str) -> None:
    old = changed("launch", tmp_path, NO_BELL)
    files, _ = papers(facts_of(STARTERS / "launch.yaml"), older=facts_of(old))
    head = files[what].splitlines()[0].lstrip("\ufeff")
    assert head.startswith("since,")
