"""Follow: a servo goes where a knob or stick points; what is wanted of it is a width in 1/256."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Follow, Loss
from gen.plan import SERVO_FRACTION
from host_tools.model.behaviours.base import words
from host_tools.model.behaviours.follow import FULL, NEAR_REST_HALF_US
from host_tools.prove.encoding.function import FunctionEncoding
from host_tools.prove.encoding.part import Count, Variable

if TYPE_CHECKING:
    from gen.behaviours.follow import Stick
    from gen.plan import Plan
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class FollowEncoding(FunctionEncoding[Follow]):
    """As `FollowModel`. Where a stick's value sends the servo is one number to the solver, within
    the servo's travel; the rungs know its formula."""

    def __init__(self, a: Any, function: Follow, plan: Plan) -> None:
        super().__init__(a, function, plan)
        self.rest = plan.servos[function.drives].rest_half_us
        low, middle, high = function.travel_half_us
        self.low, self.high = min(low, middle, self.rest), max(high, middle, self.rest)

    def memory(self) -> dict[str, Variable]:
        fraction = SERVO_FRACTION
        return {
            "target": Count(self.low, self.high, self.rest),
            "width": Count(
                self.low * fraction, self.high * fraction, self.rest * fraction, bits=32
            ),
            "neutral": Count(0, self.function.neutral_ticks),
        }

    def asked(self, me: Memory, see: Seen) -> Any:
        a, function = self.a, self.function
        stick = see.controls[function.stick.control]
        tied = False
        armed, value = stick.armed, stick.value
        if function.tied is not None:
            tied = self.held(function.tied.ask, see)
            other = see.controls[function.tied.stick.control]
            armed = a.either(tied, other.armed, armed)
            value = a.either(tied, other.value, value)
        mixed_armed, mixed_value = False, 0
        if function.mixed is not None:
            mixed = see.controls[function.mixed.stick.control]
            mixed_armed, mixed_value = mixed.armed, mixed.value
        # What hangs on several sticks follows none of them while one cannot be heard.
        armed = a.both(armed, a.no(self.signal_lost(see)))
        target = self._target(tied, value, mixed_armed, mixed_value)
        if function.neutral_ticks:
            counts = a.both(armed, me.neutral != function.neutral_ticks)
            rests = self.state_of(me, target * SERVO_FRACTION) == 0
            target = a.either(counts, self.rest, target)
            me.neutral = a.either(counts, a.either(rests, me.neutral + 1, 0), me.neutral)
        me.target = a.either(armed, target, me.target)
        return me.target * SERVO_FRACTION

    def _target(
        self, tied: Truth, value: Number, mixed_armed: Truth, mixed_value: Number
    ) -> Number:
        """Where the sticks send the servo."""
        low, middle, high = self.function.travel_half_us
        bounds = min(low, middle), max(high, middle)
        return self.a.opaque(bounds, self._pointed_at, tied, value, mixed_armed, mixed_value)

    def _pointed_at(self, tied: bool, value: int, mixed_armed: bool, mixed_value: int) -> int:
        function = self.function
        deflection = self._deflection(function.stick, function.dead_half_us, value)
        if tied and function.tied is not None:
            deflection = self._deflection(function.tied.stick, 0, value)
        size, k = abs(deflection), function.curve_per_256
        cubed = (size * size >> 12) * size >> 12
        curved = size * (256 - k) + cubed * k >> 8
        deflection = -curved if deflection < 0 else curved
        if mixed_armed and function.mixed is not None:
            mixed = function.mixed
            product = self._deflection(mixed.stick, 0, mixed_value) * mixed.share_per_256
            deflection += -(-product >> 8) if product < 0 else product >> 8
        deflection = min(max(deflection, -FULL), FULL)
        low, middle, high = function.travel_half_us
        away = -deflection if function.reverse else deflection
        if away < 0:
            return middle - (-away * (middle - low) + 2048 >> 12)
        return middle + (away * (high - middle) + 2048 >> 12)

    def _deflection(self, stick: Stick, dead: int, value: int) -> int:
        low, high = self.control(stick.control).ends_half_us
        centre = stick.centre_half_us
        reach = (centre - low if value < centre else high - centre) - dead
        gain = (2**24 + reach // 2) // reach
        size = min(max(abs(value - centre) - dead, 0) * gain + 2048 >> 12, FULL)
        size = 0 if abs(value - centre) <= dead else size
        return -size if value < centre else size

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del wanted
        a, full = self.a, self.function.neutral_ticks
        if full:
            me.neutral = a.either(me.neutral == full, full - 1, me.neutral)
        if self.function.on_loss is not Loss.KEEP:
            me.target = self.rest
        return me.target * SERVO_FRACTION

    def when_barred(self, me: Memory) -> Any:
        me.target = self.rest
        return me.target * SERVO_FRACTION

    def as_forced(self, me: Memory, force: Memory) -> Any:
        low, _, high = self.function.travel_half_us
        me.neutral = 0
        me.target = self.a.lookup(force.state, [self.rest, low, high])
        return me.target * SERVO_FRACTION

    def limited(self, me: Memory, wanted: Any) -> Any:
        a, step = self.a, self.function.step_per_256
        return a.least(a.most(wanted, me.width - step), me.width + step)

    def become(self, me: Memory, wanted: Any) -> None:
        me.width = wanted

    def state(self, me: Memory) -> Number:
        return self.state_of(me, me.width)

    def state_of(self, me: Memory, wanted: Any) -> Number:
        del me
        a, near = self.a, NEAR_REST_HALF_US
        width = a.divided(wanted, SERVO_FRACTION)
        return a.count(a.any_of(width - self.rest > near, self.rest - width > near))

    def lines_on(self, me: Memory) -> dict[int, Truth]:
        del me
        return {}

    def servo_half_us(self, me: Memory) -> Number:
        return self.a.divided(me.width, SERVO_FRACTION)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        fields = (me.target, *words(me.width))
        return (*fields, me.neutral) if self.function.type_name == "FollowMore" else fields
