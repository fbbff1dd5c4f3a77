"""Dimmer, as `behaviours/dimmer.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Dimmer, Loss
from gen.behaviours.dimmer import FLICKERS
from gen.lightness import DUTIES, FULL
from host_tools.model.behaviours.base import FunctionModel
from host_tools.model.behaviours.trigger import TriggerModel
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours.dimmer import Flicker
    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class DimmerModel(FunctionModel[Dimmer]):
    """A light with a brightness; `level` is in 1/256."""

    def __init__(self, function: Dimmer, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.trigger = TriggerModel(function.trigger, controls)
        self.most = function.brightness
        self.knob: ControlState | None = None
        if function.knob is not None:
            self.knob = controls[function.knob]
            self.most = FULL
            self.low_end, self.high_end = plan.controls[function.knob].ends_half_us
            self.scale = -(-(FULL << 16) // (self.high_end - self.low_end))
        self.up, self.down = function.up_per_256, function.down_per_256
        self.flicker = FLICKERS[function.flicker] if function.flicker else None
        self.loss = function.on_loss
        self.on = False
        self.brightness = 0
        self.level = 0
        self.hold = 0
        self.shine = 0
        self.drawn = function.seed if self.flicker else 0
        self.remembers = function.remember

    def kept(self) -> bytes:
        return bytes([self.on]) if self.remembers else b""

    def recall(self, kept: bytes) -> None:
        self.on = kept == b"\x01"

    def asked(self) -> int:
        if self.signal_lost():
            return 0
        self.on = self.trigger.asked(self.on, self.so)
        self.brightness = self._pointed_at()
        return self._lit()

    def _pointed_at(self) -> int:
        if self.knob is None:
            return self.most
        if not self.knob.armed:
            return 0
        from_low = min(max(self.knob.value, self.low_end), self.high_end) - self.low_end
        return from_low * self.scale >> 16

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        if self.loss is not Loss.KEEP:
            self.on = self.loss is Loss.ON
            self.brightness = self.most
        return self._lit()

    def _lit(self) -> int:
        if not (self.on and self.brightness):
            return 0
        if self.flicker is not None:
            if self.hold:
                self.hold -= 1
            else:
                self._draw(self.flicker)
        return self._shone()

    def _shone(self) -> int:
        return (self.brightness * (self.shine + 1 if self.flicker else 256) >> 8) << 8

    def as_forced(self, forced: int) -> int:
        was_lit = self.on and self.brightness
        self.on = forced != 0
        self.brightness = self.most
        return self._shone() if was_lit and self.on else self._lit()

    def _draw(self, flicker: Flicker) -> None:
        self.drawn = xorshift(self.drawn)
        self.hold = flicker.least_ticks + (self.drawn & flicker.spread_ticks)
        if self.drawn >> 13 < flicker.dark_of_8:
            self.shine = 0
        else:
            dimmest = flicker.dimmest
            self.shine = dimmest + ((FULL - dimmest) * (self.drawn >> 5 & 0xFF) >> 8)

    def state_of(self, wanted: int) -> int:
        return int(wanted != 0)

    def when_barred(self) -> int:
        self.on = False
        return 0

    def limited(self, wanted: int) -> int:
        return min(max(wanted, self.level - self.down), self.level + self.up)

    def become(self, state: int) -> None:
        self.level = state

    def state(self) -> int:
        return int(self.level != 0)

    def levels(self) -> tuple[int, ...]:
        return (DUTIES[self.level >> 8],)

    def fields(self) -> tuple[int, ...]:
        return (
            bytes_as_word(self.so, self.on),
            bytes_as_word(self.trigger.ready, self.brightness),
            self.level,
            bytes_as_word(self.hold, self.shine),
            self.drawn,
        )


def xorshift(x: int) -> int:
    """The number behind `x` in a 16-bit xorshift generator with the shifts 7, 9 and 8."""
    x ^= x << 7 & 0xFFFF
    x ^= x >> 9
    return x ^ (x << 8 & 0xFFFF)
