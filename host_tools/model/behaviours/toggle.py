"""Toggle, as `behaviours/toggle.h` has it."""

from __future__ import annotations

from gen.behaviours import Toggle
from host_tools.model.behaviours.base import PressedModel


class ToggleModel(PressedModel[Toggle]):
    """Press on, press off."""

    def asked(self) -> int:
        return not self.on if self.pressed() else self.on
