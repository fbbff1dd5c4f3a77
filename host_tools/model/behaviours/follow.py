"""Follow, as `behaviours/follow.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Follow, Loss
from gen.plan import SERVO_FRACTION
from host_tools.model.behaviours.base import FunctionModel, words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class FollowModel(FunctionModel[Follow]):
    """A servo goes where a knob or stick points."""

    def __init__(self, function: Follow, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        servo = plan.servos[function.drives]
        self.control = controls[function.control]
        self.low_end, self.high_end = plan.controls[function.control].ends_half_us
        self.low, self.high = servo.range_half_us
        # In 1/65536, rounded up so that end meets end.
        self.scale = -(-(self.high - self.low << 16) // (self.high_end - self.low_end))
        self.rest = servo.rest_half_us
        self.reverse = function.reverse
        self.step = function.step_per_256
        self.keeps = function.on_loss is Loss.KEEP
        self.target = self.rest
        self.width = self.rest * SERVO_FRACTION

    def asked(self) -> int:
        if self.control.armed:
            self.target = self.pointed_at()
        return self.target * SERVO_FRACTION

    def pointed_at(self) -> int:
        """The control's ends are the servo's ends; beyond them it stays there."""
        value = min(max(self.control.value, self.low_end), self.high_end)
        from_end = self.high_end - value if self.reverse else value - self.low_end
        return self.low + (from_end * self.scale >> 16)

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        if not self.keeps:
            self.target = self.rest
        return self.target * SERVO_FRACTION

    def limited(self, wanted: int) -> int:
        return min(max(wanted, self.width - self.step), self.width + self.step)

    def become(self, state: int) -> None:
        self.width = state

    def servo_half_us(self) -> int:
        return self.width // SERVO_FRACTION

    def fields(self) -> tuple[int, ...]:
        return (self.target, *words(self.width))
