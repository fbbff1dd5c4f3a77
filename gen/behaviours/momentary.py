"""Momentary: on while held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from gen.behaviours.switched import Switched


@dataclass(frozen=True, kw_only=True)
class Momentary(Switched):
    """On for as long as its position is held, and not a tick longer."""

    key: ClassVar[str] = "momentary"
