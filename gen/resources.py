"""Where templates and boards are: inside an installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).resolve().parent


def resource(kind: Literal["templates", "boards"]) -> Path:
    """The folder that holds `kind`."""
    installed = _PACKAGE / "_data" / kind
    return installed if installed.is_dir() else _PACKAGE.parent / kind
