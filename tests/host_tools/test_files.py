from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gen.diagnostics import ShipError
from host_tools.files import MANIFEST, check_only_ours, check_ours, write_file, write_folder

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


def listing(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_file_appears_whole(tmp_path: Path) -> None:
    write_file(tmp_path / "new" / "a.txt", ["å\n", "b\n"], replace=False)
    assert listing(tmp_path) == {"new/a.txt": "å\nb\n".encode()}


def test_a_file_that_is_there_stays(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_text("mine")
    with pytest.raises(ShipError, match=r"error\[exists\]"):
        write_file(tmp_path / "a.txt", "new", replace=False)
    assert listing(tmp_path) == {"a.txt": b"mine"}
    write_file(tmp_path / "a.txt", "new", replace=True)
    assert listing(tmp_path) == {"a.txt": b"new"}


def test_a_broken_off_write_leaves_nothing(tmp_path: Path) -> None:
    def breaks_off() -> Iterator[str]:
        yield "half"
        raise KeyboardInterrupt

    (tmp_path / "a.txt").write_text("old")
    with pytest.raises(KeyboardInterrupt):
        write_file(tmp_path / "a.txt", breaks_off(), replace=True)
    assert listing(tmp_path) == {"a.txt": b"old"}


def test_a_place_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(ShipError, match=r"error\[cannot-write\]"):
        write_file(tmp_path / "file" / "a.txt", "new", replace=True)


def test_a_folder_of_ours_is_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "sketch"
    write_folder(folder, {"a.ino": "1", "src/b.h": "2"})
    write_folder(folder, {"a.ino": "3", "src/c.h": b"4"})
    found = listing(folder)
    manifest = json.loads(found.pop(MANIFEST))
    assert found == {"a.ino": b"3", "src/c.h": b"4"}
    assert sorted(manifest["sha256"]) == ["a.ino", "src/c.h"]
    assert [path.name for path in tmp_path.iterdir()] == ["sketch"]


@pytest.mark.parametrize("name", ["notes.txt", "a.ino", "src/mine.h", MANIFEST])
def test_a_folder_with_something_of_its_owner_is_left_alone(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "sketch"
    write_folder(folder, {"a.ino": "1", "src/b.h": "2"})
    (folder / name).write_text("mine")
    before = listing(tmp_path)
    with pytest.raises(ShipError, match=r"error\[not-ours\]"):
        write_folder(folder, {"a.ino": "3"})
    assert listing(tmp_path) == before


def test_an_empty_folder_may_be_filled_and_a_file_may_not(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    write_folder(tmp_path / "empty", {"a": "1"})
    (tmp_path / "file").write_text("mine")
    with pytest.raises(ShipError, match=r"error\[not-ours\]"):
        check_ours(tmp_path / "file")


def test_an_out_folder_may_hold_several_of_ours_and_nothing_else(tmp_path: Path) -> None:
    check_only_ours(tmp_path / "missing")
    write_folder(tmp_path / "one", {"a": "1"})
    write_folder(tmp_path / "two", {"a": "1"})
    check_only_ours(tmp_path)
    (tmp_path / "notes.txt").write_text("mine")
    with pytest.raises(ShipError, match=r"notes.txt: error\[not-ours\]"):
        check_only_ours(tmp_path)
