"""What is installed with Pinrail, and its licences, are what the contributor's guide says."""

from __future__ import annotations

import re
import tomllib
from importlib.metadata import PackageNotFoundError, metadata
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
PINS = [
    *PROJECT["dependencies"],
    *(one for many in PROJECT["optional-dependencies"].values() for one in many),
]
NAMES = sorted({re.split(r"[<>=!~\[; ]", pin)[0] for pin in PINS})
TABLE = (
    (ROOT / "DEVELOPERS.md")
    .read_text(encoding="utf-8")
    .split("\n## Dependencies\n")[1]
    .split("\n## ")[0]
)
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in TABLE.splitlines()
    if line.startswith("| ")
][1:]

STUBS = {"types-pyserial", "types-PyYAML"}
"""Type information of packages that have rows of their own."""

SAID = {
    "PSF": "Python Software Foundation|PSF",
    "GPL": "GPL",
    "MPL": "MPL|Mozilla",
    "public domain": "public domain",
    "Apache": "Apache",
    "BSD": "BSD",
    "MIT": "MIT",
}
"""Words of the table, and those of packages that mean the same."""


def row_of(name: str) -> list[str]:
    return next((row for row in ROWS if re.search(rf"(?i)\b{re.escape(name)}\b", row[0])), [])


@pytest.mark.parametrize("name", [name for name in NAMES if name not in STUBS])
def test_every_package_has_its_row_and_its_licence(name: str) -> None:
    row = row_of(name)
    assert row, f"{name} is in pyproject.toml and not in the table of DEVELOPERS.md"
    try:
        about = metadata(name)
    except PackageNotFoundError:
        pytest.fail(f"{name} is not installed")
    said = " ".join(
        [
            *(about.get_all("License-Expression") or ()),
            *((about.get_all("License") or ("",))[0].splitlines()[:1]),
            *(one for one in about.get_all("Classifier") or () if one.startswith("License")),
        ]
    )
    words = [words for word, words in SAID.items() if word in row[2]]
    assert re.search("|".join(words) or "-", said, re.IGNORECASE), (
        f"{name} says {said!r}, the table {row[2]!r}"
    )


def test_every_pin_is_bounded() -> None:
    """No next major version comes by itself."""
    assert [pin for pin in PINS if "<" not in pin and "==" not in pin] == []


def test_no_row_is_left_over() -> None:
    for row in ROWS:
        packages = re.sub(r"\(.*?\)|Debian:.*", "", row[0]).split(",")
        for package in filter(None, map(str.strip, packages)):
            assert package.lower() in {name.lower() for name in NAMES}, package
