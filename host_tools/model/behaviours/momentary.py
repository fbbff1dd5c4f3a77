"""Momentary, as `behaviours/momentary.h` has it."""

from __future__ import annotations

from gen.behaviours import Momentary
from host_tools.model.behaviours.base import SwitchedModel


class MomentaryModel(SwitchedModel[Momentary]):
    """On while held."""

    def asked(self) -> int:
        return self.control.held_at(self.position)
