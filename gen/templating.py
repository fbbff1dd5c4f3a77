"""How every template is read: a name that is missing is an error, statements leave no lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined

if TYPE_CHECKING:
    from pathlib import Path


def templates_in(folder: Path, *, autoescape: bool) -> Environment:
    """The templates in a folder; `autoescape` for whatever a browser reads."""
    return Environment(
        loader=FileSystemLoader(folder),
        undefined=StrictUndefined,
        keep_trailing_newline=True,
        trim_blocks=True,
        lstrip_blocks=True,
        autoescape=autoescape,  # noqa: S701 - who calls says what it is for
    )
