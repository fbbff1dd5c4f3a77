"""Ship files under version control: which version has a plan id."""

from __future__ import annotations

import subprocess
from typing import TYPE_CHECKING

import pytest

from gen.diagnostics import ShipError
from gen.toolchain import MissingTool
from host_tools.cli.ships import starters
from host_tools.history import plan_id_of, versions_with

if TYPE_CHECKING:
    from pathlib import Path

LAUNCH = starters()["launch"].read_bytes()


def git(folder: Path, *arguments: str) -> None:
    who = ["-c", "user.name=A. Builder", "-c", "user.email=builder@example.org"]
    subprocess.run(["git", "-C", str(folder), *who, *arguments], check=True, capture_output=True)


def commit(folder: Path, subject: str) -> None:
    git(folder, "add", "-A")
    git(folder, "commit", "-m", subject)


def plan_of(content: bytes) -> str:
    plan_id = plan_id_of(content, "launch.yaml")
    assert plan_id is not None
    return plan_id


@pytest.fixture
def ships(tmp_path: Path) -> Path:
    """A ship whose capstan was given more time, then taken back; a file that is no ship; one that
    was deleted."""
    git(tmp_path, "init", "-q")
    (tmp_path / "deep er").mkdir()
    ship = tmp_path / "deep er" / "älteste.yaml"
    ship.write_bytes(LAUNCH)
    (tmp_path / "other.yaml").write_text("- not a ship\n")
    (tmp_path / "gone.yml").write_bytes(LAUNCH.replace(b"Grey Wagtail", b"Pied Wagtail"))
    commit(tmp_path, "First")
    ship.write_bytes(LAUNCH.replace(b"heave: 4 s", b"heave: 5 s"))
    (tmp_path / "gone.yml").unlink()
    commit(tmp_path, "More time to heave")
    ship.write_bytes(LAUNCH + b"# a remark\n")
    commit(tmp_path, "As it was, with a remark")
    return tmp_path


def test_the_versions_of_a_plan(ships: Path) -> None:
    found = versions_with(ships, plan_of(LAUNCH))
    file = "deep er/älteste.yaml"
    assert [(one.file, one.subject) for one in found] == [
        (file, ""),
        (file, "As it was, with a remark"),
        (file, "First"),
    ]
    assert found[0].told() == f"{file}, as it is now"
    assert all(len(one.commit) == 40 for one in found[1:])


def test_a_version_that_nobody_has_any_more(ships: Path) -> None:
    (found,) = versions_with(ships, plan_of(LAUNCH.replace(b"heave: 4 s", b"heave: 5 s")))
    assert found.subject == "More time to heave"


def test_a_file_that_was_deleted(ships: Path) -> None:
    (found,) = versions_with(ships, plan_of(LAUNCH.replace(b"Grey Wagtail", b"Pied Wagtail")))
    assert (found.file, found.subject) == ("gone.yml", "First")


def test_a_folder_within_the_repository(ships: Path) -> None:
    found = versions_with(ships / "deep er", plan_of(LAUNCH))
    assert {one.file for one in found} == {"älteste.yaml"}
    assert len(found) == 3


def test_a_plan_that_never_was(ships: Path) -> None:
    assert versions_with(ships, "0123456789ab") == []


def test_a_repository_without_a_commit(tmp_path: Path) -> None:
    git(tmp_path, "init", "-q")
    (tmp_path / "launch.yaml").write_bytes(LAUNCH)
    assert [one.told() for one in versions_with(tmp_path, plan_of(LAUNCH))] == [
        "launch.yaml, as it is now"
    ]


@pytest.mark.parametrize("name", ["", "missing"])
def test_no_repository(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(tmp_path.parent))
    with pytest.raises(ShipError) as raised:
        versions_with(tmp_path / name, "0123456789ab")
    assert raised.value.problems[0].code == "not-a-repository"


def test_no_git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(MissingTool) as raised:
        versions_with(tmp_path, "0123456789ab")
    assert raised.value.code == "no-git"
