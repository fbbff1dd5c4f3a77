"""Writes every committed file that is made from declarations: `python -m gen.generated`.

A test compares them, so that none of them can fall behind.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.guide import errors_page, keys_page
from gen.resources import resource
from gen.schema import ship_schema

if TYPE_CHECKING:
    from pathlib import Path


def generated() -> dict[Path, str]:
    """What each of these files must hold."""
    templates = resource("templates")
    return {
        templates / "ship.schema.json": ship_schema(),
        templates / "guide" / "errors.md": errors_page(),
        templates / "guide" / "keys.md": keys_page(),
    }


if __name__ == "__main__":
    for path, text in generated().items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
