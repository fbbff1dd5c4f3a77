"""Toggle: press on, press off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from gen.behaviours.switched import Switched


@dataclass(frozen=True, kw_only=True)
class Toggle(Switched):
    """Changes its state at each press; the control must come to rest between two presses."""

    key: ClassVar[str] = "toggle"
