"""Step, as `behaviours/step.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Loss, Step
from host_tools.model.behaviours.base import FunctionModel
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class StepModel(FunctionModel[Step]):
    """The next of a list of states at each press."""

    def __init__(self, function: Step, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        asks = [(function.ask, 1), (function.back, -1)]
        self.ways = [
            (controls[ask.control], ask.position, by) for ask, by in asks if ask is not None
        ]
        self.ready = [False, False]
        self.last = len(function.names) - 1
        self.wraps = function.wraps
        self.keeps = function.on_loss is Loss.KEEP
        self.bits = [
            sum(1 << line for bit, line in enumerate(function.own_lines) if mask >> bit & 1)
            for mask in function.masks
        ]
        self.duties = function.duties
        self.remembers = function.remember
        self.at = 0

    def kept(self) -> bytes:
        return bytes([self.at]) if self.remembers else b""

    def recall(self, kept: bytes) -> None:
        self.at = kept[0] if kept[0] <= self.last else 0

    def asked(self) -> int:
        wanted = self.at
        for way, (control, position, by) in enumerate(self.ways):
            if control.at_rest():
                self.ready[way] = True
            if self.ready[way] and control.held_at(position):
                self.ready[way] = False
                moved = wanted + by
                if 0 <= moved <= self.last:
                    wanted = moved
                elif self.wraps:
                    wanted = moved % (self.last + 1)
        return wanted

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        return self.at if self.keeps else 0

    def become(self, state: int) -> None:
        self.at = state

    def state(self) -> int:
        return self.at

    def lines_on(self) -> int:
        return self.bits[self.at]

    def levels(self) -> tuple[int, ...]:
        return self.duties[self.at]

    def fields(self) -> tuple[int, ...]:
        ready, ready_back = self.ready
        return (bytes_as_word(self.at, ready | ready_back << 1),)
