"""Toggle, as `behaviours/toggle.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Toggle
from host_tools.model.behaviours.base import PressedModel

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class ToggleModel(PressedModel[Toggle]):
    """Press on, press off."""

    def __init__(self, function: Toggle, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.remembers = function.remember

    def kept(self) -> bytes:
        return bytes([self.on]) if self.remembers else b""

    def recall(self, kept: bytes) -> None:
        self.on = kept == b"\x01"

    def asked(self) -> int:
        return not self.on if self.pressed() else self.on
