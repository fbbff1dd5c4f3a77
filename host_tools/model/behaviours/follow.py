"""Follow, as `behaviours/follow.h` and `follow_more.h` have it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from gen.behaviours import Follow, Loss
from gen.plan import SERVO_FRACTION
from host_tools.model.behaviours.base import FunctionModel, words
from host_tools.model.behaviours.gauge import Gauge

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours.follow import Stick
    from gen.plan import Plan
    from host_tools.model.receiver import ControlState

NEAR_REST_HALF_US: Final = 10
"""Nearer than this to its rest a servo is at rest: it does not answer less, and sticks jitter."""

FULL: Final = 4096


class StickState:
    """How far a stick stands from its middle."""

    def __init__(
        self, stick: Stick, dead: int, plan: Plan, controls: Sequence[ControlState]
    ) -> None:
        self.control = controls[stick.control]
        low, high = plan.controls[stick.control].ends_half_us
        self.centre = stick.centre_half_us
        self.dead = dead
        self.low_gain = _gain(self.centre - low - dead)
        self.high_gain = _gain(high - self.centre - dead)

    def deflection(self) -> int:
        """From -FULL at its low end to FULL at its high end."""
        away = self.control.value - self.centre
        if abs(away) <= self.dead:
            return 0
        if away < 0:
            return -min((-away - self.dead) * self.low_gain + 2048 >> 12, FULL)
        return min((away - self.dead) * self.high_gain + 2048 >> 12, FULL)


def _gain(reach: int) -> int:
    return (2**24 + reach // 2) // reach


class FollowModel(FunctionModel[Follow]):
    """A servo goes where a knob or stick points."""

    def __init__(self, function: Follow, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.stick = StickState(function.stick, function.dead_half_us, plan, controls)
        self.function = function
        self.rest = plan.servos[function.drives].rest_half_us
        self.step = function.step_per_256
        self.keeps = function.on_loss is Loss.KEEP
        self.target = self.rest
        self.width = self.rest * SERVO_FRACTION
        self.neutral = 0
        self.tied = self.mixed = None
        if function.tied is not None:
            self.tied = StickState(function.tied.stick, 0, plan, controls)
            self.tie_key = controls[function.tied.ask.control]
        if function.mixed is not None:
            self.mixed = StickState(function.mixed.stick, 0, plan, controls)
        self.has_more = function.type_name == "FollowMore"

    def asked(self) -> int:
        stick = self.stick
        if (
            self.tied
            and self.function.tied
            and self.tie_key.held_at(self.function.tied.ask.position)
        ):
            stick = self.tied
        # What hangs on several sticks follows none of them while one cannot be heard.
        if stick.control.armed and not self.signal_lost():
            deflection = self.curved(stick.deflection()) + self.mixed_in()
            self.target = self.width_at(min(max(deflection, -FULL), FULL))
            if self.neutral != self.function.neutral_ticks:
                at_rest = not self.state_of(self.target * SERVO_FRACTION)
                self.neutral = self.neutral + 1 if at_rest else 0
                self.target = self.rest
        return self.target * SERVO_FRACTION

    def curved(self, deflection: int) -> int:
        """Flatter in the middle: (1 - k) x + k x^3."""
        x, k = abs(deflection), self.function.curve_per_256
        y = x * (256 - k) + ((x * x >> 12) * x >> 12) * k >> 8
        return -y if deflection < 0 else y

    def mixed_in(self) -> int:
        """The other stick's share."""
        if self.mixed is None or self.function.mixed is None or not self.mixed.control.armed:
            return 0
        product = self.mixed.deflection() * self.function.mixed.share_per_256
        return -(-product >> 8) if product < 0 else product >> 8

    def width_at(self, deflection: int) -> int:
        """Its ends are the servo's ends, its middle the servo's middle."""
        low, middle, high = self.function.travel_half_us
        if self.function.reverse:
            deflection = -deflection
        if deflection < 0:
            return middle - (-deflection * (middle - low) + 2048 >> 12)
        return middle + (deflection * (high - middle) + 2048 >> 12)

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        if self.neutral and self.neutral == self.function.neutral_ticks:
            self.neutral -= 1
        if not self.keeps:
            self.target = self.rest
        return self.target * SERVO_FRACTION

    def state_of(self, wanted: int) -> int:
        return int(abs(wanted // SERVO_FRACTION - self.rest) > NEAR_REST_HALF_US)

    def state(self) -> int:
        return self.state_of(self.width)

    def when_barred(self) -> int:
        self.target = self.rest
        return self.target * SERVO_FRACTION

    def as_forced(self, forced: int) -> int:
        low, _, high = self.function.travel_half_us
        self.neutral = 0
        self.target = (self.rest, low, high)[forced]
        return self.target * SERVO_FRACTION

    def limited(self, wanted: int) -> int:
        return min(max(wanted, self.width - self.step), self.width + self.step)

    def become(self, state: int) -> None:
        self.width = state

    def servo_half_us(self) -> int:
        return self.width // SERVO_FRACTION

    def gauges(self) -> tuple[Gauge, ...]:
        whole = self.function.neutral_ticks
        if self.neutral == whole:
            return ()
        return (Gauge("neutral first", whole - self.neutral, whole),)

    def fields(self) -> tuple[int, ...]:
        fields = (self.target, *words(self.width))
        return (*fields, self.neutral) if self.has_more else fields
