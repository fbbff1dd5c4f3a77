"""Pulse, as `behaviours/pulse.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Loss, Pulse
from host_tools.model.behaviours.base import PressedModel, words
from host_tools.model.behaviours.gauge import Gauge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class PulseModel(PressedModel[Pulse]):
    """On for a fixed time at each press."""

    def __init__(self, function: Pulse, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.duration = function.duration_ticks
        self.left = 0

    def asked(self) -> int:
        pressed = self.pressed()
        if self.left > 0:
            self.left -= 1
        if pressed and self.left == 0:
            self.left = self.duration
        return self.left > 0

    def when_lost(self, wanted: int) -> int:
        return wanted if self.loss is Loss.KEEP else super().when_lost(wanted)

    def as_forced(self, forced: int) -> int:
        if self.force_begins and self.left == 0:
            self.left = self.duration
        return forced and self.left > 0

    def become(self, state: int) -> None:
        super().become(state)
        if not state:
            self.left = 0

    def gauges(self) -> tuple[Gauge, ...]:
        return (Gauge("on for", self.left, self.duration),) if self.left else ()

    def fields(self) -> tuple[int, ...]:
        return (*super().fields(), *words(self.left))
