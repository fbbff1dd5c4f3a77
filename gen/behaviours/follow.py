"""Follow: a servo goes where a knob or stick points."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Cells, Function, FunctionKeys, Loss
from gen.plan import HALF_US_PER_US, SERVO_FRACTION, TICK_US
from gen.read.keys import Located, key
from gen.read.kinds import CONTROL, Speed, Words, YesNo

if TYPE_CHECKING:
    from gen.plan import Plan
    from gen.resolve.context import Context, ServoPlace

_STEPS_PER_US_PER_TICK = SERVO_FRACTION * HALF_US_PER_US * TICK_US


@dataclass(frozen=True, kw_only=True)
class FollowKeys(FunctionKeys):
    """A servo goes where a knob or stick points; the ends of the control are those of its range."""

    follow: Located[str] = key(CONTROL, "the knob or stick that it follows", required=True)
    speed: Located[tuple[Decimal, bool]] | None = key(
        Speed(), "how fast the servo moves: as fast as it can unless given"
    )
    reverse: Located[bool] = key(YesNo(), "whether it turns the other way", default="no")
    on_loss: Located[str] = key(
        Words(Loss.OFF, Loss.KEEP),
        "what it does while the signal is lost: go to rest, or stay",
        default="off",
    )

    def resolve(self, to: Context) -> Follow | None:
        control = to.proportional(self, self.follow)
        servo = to.servo(self)
        if control is None or servo is None:
            return None
        return Follow(
            name=self.name.value,
            code=to.code(self),
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            control=control,
            drives=servo.index,
            reverse=self.reverse.value,
            step_per_256=self._step_per_256(servo),
        )

    def _step_per_256(self, servo: ServoPlace) -> int:
        """The largest move in one tick, in 1/256 half microseconds: at least one, so that a slow
        servo arrives, and at most the whole range."""
        low, high = servo.range_half_us
        whole = (high - low) * SERVO_FRACTION
        if self.speed is None:
            return whole
        size, in_degrees = self.speed.value
        half_us_per_s = (
            size * (high - low) / servo.travel_deg if in_degrees else size * HALF_US_PER_US
        )
        step = half_us_per_s * SERVO_FRACTION * TICK_US / 1_000_000
        return min(whole, max(1, int(step.to_integral_value(ROUND_HALF_UP))))


@dataclass(frozen=True, kw_only=True)
class Follow(Function):
    """The control's ends are mapped to the servo's range, and the servo moves at most
    `step_per_256` (1/256 half microseconds) each tick. `reverse` swaps the ends."""

    key: ClassVar[str] = "follow"
    memory_begins_from_plan: ClassVar[bool] = True
    written: ClassVar[type[FunctionKeys]] = FollowKeys

    control: int
    drives: int
    reverse: bool
    step_per_256: int

    @property
    def controls(self) -> tuple[int, ...]:
        return (self.control,)

    @property
    def servos(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def states(self) -> tuple[str, ...]:
        return ("at rest", "away")

    @property
    def moves(self) -> bool:
        return True

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.value_code(self.control),),
            limits=(
                "Turn::reverse" if self.reverse else "Turn::same",
                f"StepPer256{{{self.step_per_256}}}",
            ),
            drives=(plan.servos[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=f"at most {self.step_per_256 * 1_000_000 // _STEPS_PER_US_PER_TICK} us/s",
        )
