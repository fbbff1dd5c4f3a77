"""One broken ship file for each code, and the exact words that it earns.

`bad/CODE.yaml` (or `bad/CODE.which.yaml`) is the file and `bad/CODE.txt` what is said about it.
After a deliberate change of words, `python -m tests.gen.test_bad_files` writes the texts again;
read the difference before it is committed.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from gen import __version__
from gen.codes import CODES
from gen.diagnostics import Problem, ShipError
from gen.load import load, load_text
from gen.nodes import MOST_BYTES, MOST_NODES

BAD = Path(__file__).parent / "bad"
FILES = sorted(BAD.glob("*.yaml"))
WITHOUT_A_FILE = {"cannot-read", "too-large", "timer-taken"}
"""The first two are about files that no checkout can hold, and have their own tests below; no board
of today lets a servo's timer be taken, so that test_resolve.py makes one up."""


def problems_of(path: Path) -> list[Problem]:
    try:
        return load(path).problems
    except ShipError as error:
        return error.problems


def told(path: Path) -> str:
    """What is said about the file, without its folder and our version."""
    said = "\n".join(str(problem) for problem in problems_of(path)) + "\n"
    return said.replace(str(path), path.name).replace(f"pinrail {__version__}", "pinrail VERSION")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_exact_words(path: Path) -> None:
    assert told(path) == path.with_suffix(".txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_file_earns_its_code(path: Path) -> None:
    code = path.name.partition(".")[0]
    found = {problem.code for problem in problems_of(path)}
    assert code == "many" or code in found


def test_every_code_of_the_ship_file_has_a_broken_file() -> None:
    codes = {code for code, meaning in CODES.items() if meaning.about == "ship"}
    assert codes == {path.name.partition(".")[0] for path in FILES} - {"many"} | WITHOUT_A_FILE


def test_every_text_has_its_file() -> None:
    assert {path.stem for path in BAD.glob("*.txt")} == {path.stem for path in FILES}


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "none.yaml"
    assert told(path) == (
        "none.yaml: error[cannot-read]: the file cannot be read: No such file or directory\n"
    )


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    assert [problem.code for problem in problems_of(tmp_path)] == ["cannot-read"]


def test_a_file_that_is_too_large(tmp_path: Path) -> None:
    path = tmp_path / "large.yaml"
    path.write_bytes(b"#" * (MOST_BYTES + 1))
    assert told(path) == (
        "large.yaml: error[too-large]: the file is too large (expected at most 131072 bytes)\n"
    )


def test_a_file_of_too_many_keys() -> None:
    with pytest.raises(ShipError) as refused:
        load_text(b"[" + b"x," * MOST_NODES + b"]")
    assert str(refused.value) == "ship.yaml: error[too-large]: more than 20000 keys and values"


def test_a_file_without_an_end_is_not_read_to_its_end() -> None:
    assert [problem.code for problem in problems_of(Path("/dev/zero"))] == ["too-large"]


if __name__ == "__main__":
    for each in FILES:
        each.with_suffix(".txt").write_text(told(each), encoding="utf-8")
