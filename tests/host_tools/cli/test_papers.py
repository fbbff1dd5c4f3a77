from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    import pytest

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

FOLDER = Path("grey_wagtail-papers")


def test_the_papers_of_a_starter(run: Run) -> None:
    assert run("new", "launch").code == 0
    told = run("papers", "launch.yaml", "--out", "print")
    assert told.code == 0
    folder = Path("print") / FOLDER
    assert str(folder / "papers.html") in told.out
    assert {path.name for path in folder.iterdir()} == {
        *("papers.html", "tables", "drawings", ".pinrail.json")
    }
    page = (folder / "papers.html").read_text(encoding="utf-8")
    assert "size: 210mm 297mm" in page
    assert (folder / "tables" / "control-card.csv").is_file()
    assert list((folder / "drawings").glob("circuit-*.svg"))


def test_letter_paper_and_json(run: Run) -> None:
    run("new", "launch")
    told = run("papers", "launch.yaml", "--paper", "letter", "--json")
    assert told.code == 0
    assert told.json["written"] == str(FOLDER)
    assert "papers.html" in told.json["files"]
    assert "Control card" in told.json["sheets"]
    assert "size: 215.9mm 279.4mm" in (FOLDER / "papers.html").read_text(encoding="utf-8")


def test_a_pdf_is_the_same_bytes_twice(run: Run) -> None:
    run("new", "launch")
    assert run("papers", "launch.yaml", "--pdf").code == 0
    first = (FOLDER / "papers.pdf").read_bytes()
    assert first.startswith(b"%PDF-")
    assert run("papers", "launch.yaml", "--pdf").code == 0
    assert (FOLDER / "papers.pdf").read_bytes() == first


def test_what_changed_is_counted(run: Run) -> None:
    run("new", "launch")
    old = Path("old.yaml")
    text = Path("launch.yaml").read_text(encoding="utf-8")
    old.write_text(text.replace("heave: 4 s", "heave: 3 s"), encoding="utf-8")
    told = run("papers", "launch.yaml", "--since", "old.yaml", "--json")
    assert told.code == 0
    assert told.json["changes"] > 0
    same = run("papers", "launch.yaml", "--since", "launch.yaml", "--json")
    assert same.json["changes"] == 0


def test_a_wrong_older_file_is_told(run: Run) -> None:
    run("new", "launch")
    Path("old.yaml").write_text("ship: x\n", encoding="utf-8")
    told = run("papers", "launch.yaml", "--since", "old.yaml")
    assert told.code == 2
    assert "old.yaml:1:1: error" in told.err
    assert not FOLDER.exists()


def test_a_folder_of_ones_own_is_left_alone(run: Run) -> None:
    run("new", "launch")
    assert run("papers", "launch.yaml").code == 0
    (FOLDER / "notes.txt").write_text("mine", encoding="utf-8")
    told = run("papers", "launch.yaml")
    assert told.code == 2
    assert "error[not-ours]" in told.err


def test_without_the_library_there_is_no_pdf(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    run("new", "launch")
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    told = run("papers", "launch.yaml", "--pdf", "--json")
    assert told.code == 2
    problem = json.loads(told.out)["problems"][0]
    assert problem["code"] == "no-pdf"
    assert not FOLDER.exists()
