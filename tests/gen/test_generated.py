"""Committed files that are made from declarations are as fresh as those."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.codes import CODES
from gen.generated import generated

if TYPE_CHECKING:
    from pathlib import Path

FILES = generated()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_the_file_is_fresh(path: Path) -> None:
    assert path.read_text(encoding="utf-8") == FILES[path], "run python -m gen.generated"


def test_every_code_has_a_line_in_the_guide() -> None:
    (page,) = (text for path, text in FILES.items() if path.name == "errors.md")
    for code, entry in CODES.items():
        assert page.count(f"| `{code}` | ") == 1
        assert entry.meaning.endswith(".")
        assert entry.remedy.endswith(".")
