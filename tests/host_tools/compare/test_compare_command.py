"""`pinrail compare` as people, git and CI run it."""

from __future__ import annotations

import json
import shlex
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from host_tools.cli import main
from host_tools.cli.ships import starters

if TYPE_CHECKING:
    from collections.abc import Sequence

LAUNCH = starters()["launch"].read_text(encoding="utf-8")
LONGER = ("for: 0.4 s", "for: 0.5 s")
ROOT = Path(__file__).parents[3]
PINRAIL = [sys.executable, "-c", "import sys; from host_tools.cli import main; sys.exit(main())"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two ships."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "old.yaml").write_text(LAUNCH, encoding="utf-8")
    (tmp_path / "new.yaml").write_text(LAUNCH.replace(*LONGER), encoding="utf-8")
    tidy = "# tidied\n" + LAUNCH.replace("deck key", "main key")
    (tmp_path / "tidy.yaml").write_text(tidy, encoding="utf-8")
    return tmp_path


@pytest.fixture
def repository(folder: Path) -> Path:
    """The old ship as committed, the new one in its place, git told to ask Pinrail."""
    (folder / "ship.yaml").write_text(LAUNCH, encoding="utf-8")
    (folder / ".gitattributes").write_text("*.yaml diff=ship\n", encoding="utf-8")
    git("init", "--quiet")
    git("config", "diff.ship.command", f"env PYTHONPATH={ROOT} {shlex.join(PINRAIL)} compare")
    git("add", "ship.yaml", ".gitattributes")
    git("-c", "user.name=Nobody", "-c", "user.email=nobody@example.org", "commit", "-qm", "one")
    (folder / "ship.yaml").write_text(LAUNCH.replace(*LONGER), encoding="utf-8")
    return folder


def git(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Runs git here."""
    return subprocess.run(["git", *arguments], capture_output=True, text=True, check=True)


@pytest.mark.usefixtures("folder")
def test_the_same_behaviour_ends_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old.yaml", "tidy.yaml"]) == 0
    said = capsys.readouterr().out
    assert "control deck key is now called main key" in said
    assert "Same behaviour" in said


@pytest.mark.usefixtures("folder")
def test_another_behaviour_ends_with_1(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old.yaml", "new.yaml"]) == 1
    said = capsys.readouterr().out
    assert "function bell: for: 0.4 s -> 0.5 s" in said
    assert "the shortest, to the tick" in said
    assert "old: off; new: on" in said
    assert "seen on both ships' model" in said


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["old.yaml", "nowhere.yaml"], "cannot-read"),
        (["old.yaml"], "usage"),
        (["old.yaml", "new.yaml", "tidy.yaml"], "usage"),
        (["old.yaml", "--since", "HEAD"], "not-a-repository"),
    ],
)
@pytest.mark.usefixtures("folder")
def test_wrong_input_ends_with_2(
    arguments: Sequence[str], code: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *arguments, "--json"]) == 2
    assert [one["code"] for one in json.loads(capsys.readouterr().out)["problems"]] == [code]


@pytest.mark.usefixtures("repository")
def test_a_file_and_a_revision(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "ship.yaml", "--since", "HEAD", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["old"]["file"] == "ship.yaml@HEAD"
    assert [one["text"] for one in told["changes"]] == ["function bell: for: 0.4 s -> 0.5 s"]
    (different,) = [one for one in told["functions"] if one["verdict"] == "different"]
    assert (different["new"], different["shortest"], different["tick"]) == ("bell", "tick", 93)
    assert (told["same"], told["exit"]) == (False, 1)


@pytest.mark.usefixtures("repository")
def test_a_revision_that_git_does_not_know(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "ship.yaml", "--since", "v9"]) == 2
    assert "git knows no such version of this file" in capsys.readouterr().err


@pytest.mark.usefixtures("repository")
def test_git_diff_speaks_of_the_ship() -> None:
    said = git("diff").stdout
    assert "function bell: for: 0.4 s -> 0.5 s" in said
    assert "old: off; new: on" in said


def test_git_goes_on_behind_what_is_no_ship_file(repository: Path) -> None:
    (repository / "ship.yaml").write_text("ship: [\n", encoding="utf-8")
    (repository / "other.yaml").write_text(LAUNCH, encoding="utf-8")
    git("add", "--intent-to-add", "other.yaml")
    assert "other.yaml: a new ship file" in git("diff").stdout


@pytest.mark.usefixtures("folder")
def test_pictures_and_traces(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old.yaml", "new.yaml", "--plot", "--traces", "--out", "."]) == 1
    assert "wrote" in capsys.readouterr().out
    svg = Path("bell-compared.svg").read_text(encoding="utf-8")
    assert svg.count("<svg") == 1
    assert Path("bell-compared.png").read_bytes().startswith(b"\x89PNG")
    for word, code in (("old", 0), ("new", 0)):
        assert main(["replay", f"{word}.yaml", f"bell-{word}.trace", "--json"]) == code


@pytest.mark.usefixtures("folder")
def test_a_difference_is_seen_on_the_compiled_logic(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", "old.yaml", "new.yaml", "--on", "logic", "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    (different,) = [one for one in told["functions"] if one["verdict"] == "different"]
    assert different["seen"] == ["model", "logic"]
    assert "apart" not in different


@pytest.mark.usefixtures("folder")
def test_without_the_solver_the_rest_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "z3", None)
    for name in [one for one in sys.modules if one.startswith("host_tools.compare.")]:
        monkeypatch.delitem(sys.modules, name)
    Path("new.yaml").write_text(LAUNCH.replace("pay out: 3 s", "pay out: 4 s"), encoding="utf-8")
    assert main(["compare", "old.yaml", "new.yaml"]) == 1
    said = capsys.readouterr().out
    assert "function capstan: limit: pay out: 3 s -> 4 s" in said
    assert "old: stopped; new: paying out" in said
    assert "pip install 'pinrail[prove]'" in said
