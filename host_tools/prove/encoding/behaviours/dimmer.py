"""Dimmer: a light with a brightness; what is wanted of it is a level in 1/256."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Dimmer, Loss
from gen.behaviours.dimmer import FLICKERS, LEVEL_FRACTION, WHOLE_FADE
from gen.lightness import DUTIES, FULL
from host_tools.model.behaviours.dimmer import xorshift
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.behaviours.trigger import triggered
from host_tools.prove.encoding.function import FunctionEncoding
from host_tools.prove.encoding.part import Count, Flag, Variable

if TYPE_CHECKING:
    from gen.behaviours.dimmer import Flicker
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory

WORD = 0xFFFF


class DimmerEncoding(FunctionEncoding[Dimmer]):
    """As `DimmerModel`. Whether it is `lit`, told to shine in this tick, is there for claims alone:
    a light that fades is still on when it no longer is."""

    @property
    def flicker(self) -> Flicker | None:
        """How it flickers."""
        return FLICKERS[self.function.flicker] if self.function.flicker else None

    @property
    def most(self) -> int:
        """How bright it is at most."""
        return self.function.brightness if self.function.knob is None else FULL

    def memory(self) -> dict[str, Variable]:
        flicker = self.flicker
        longest = flicker.least_ticks + flicker.spread_ticks if flicker is not None else 0
        return {
            "on": Flag(),
            "ready": Flag(),
            "brightness": Count(0, self.most, bits=8),
            "level": Count(0, self.most * LEVEL_FRACTION),
            "hold": Count(0, longest, bits=8),
            "shine": Count(0, FULL, bits=8),
            "drawn": Count(0, WORD, self._drawn_first),
            "lit": Flag(),
        }

    @property
    def _drawn_first(self) -> int:
        """The number that its flicker begins with."""
        return self.function.seed if self.flicker is not None else 0

    def asked(self, me: Memory, see: Seen) -> Any:
        return self.branch(
            self.a.no(self.signal_lost(see)), me, lambda mine: self._lit_when_heard(mine, see), 0
        )

    def _lit_when_heard(self, me: Memory, see: Seen) -> Number:
        me.on = triggered(self, self.function.trigger, me, see, me.on)
        me.brightness = self._pointed_at(see)
        return self._lit(me)

    def _pointed_at(self, see: Seen) -> Number:
        a, knob = self.a, self.function.knob
        if knob is None:
            return self.most
        control = see.controls[knob]
        low, high = self.control(knob).ends_half_us
        scale = -(-(FULL << 16) // (high - low))
        from_low = a.least(a.most(control.value, low), high) - low
        return a.either(control.armed, a.divided(from_low * scale, 1 << 16), 0)

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del wanted
        loss = self.function.on_loss
        if loss is not Loss.KEEP:
            me.on = loss is Loss.ON
            me.brightness = self.most
        return self._lit(me)

    def as_forced(self, me: Memory, force: Memory) -> Any:
        was_lit = self.a.both(me.on, me.brightness != 0)
        me.on = force.state != 0
        me.brightness = self.most
        # What is lit has flickered in this tick already.
        anew = self.a.no(self.a.both(was_lit, me.on))
        return self.branch(anew, me, self._lit, self._shone(me))

    def _lit(self, me: Memory) -> Number:
        shines = self.a.both(me.on, me.brightness != 0)
        return self.branch(shines, me, self._flickering, 0)

    def _flickering(self, me: Memory) -> Number:
        if self.flicker is not None:
            flicker, held = self.flicker, me.hold
            self.branch(held == 0, me, lambda mine: self._draw(mine, flicker), None)
            me.hold = self.a.either(held == 0, me.hold, held - 1)
        return self._shone(me)

    def _shone(self, me: Memory) -> Number:
        if self.flicker is None:
            return me.brightness * LEVEL_FRACTION
        return self.a.opaque(
            (0, self.most * LEVEL_FRACTION),
            lambda brightness, shine: (brightness * (shine + 1) >> 8) << 8,
            me.brightness,
            me.shine,
        )

    def _draw(self, me: Memory, flicker: Flicker) -> None:
        a = self.a
        me.drawn = a.opaque((0, WORD), xorshift, me.drawn)
        spread = flicker.spread_ticks
        least, dark, dimmest = flicker.least_ticks, flicker.dark_of_8, flicker.dimmest
        me.hold = least + a.opaque((0, spread), lambda drawn: drawn & spread, me.drawn)

        def shine(drawn: int) -> int:
            if drawn >> 13 < dark:
                return 0
            return dimmest + ((FULL - dimmest) * (drawn >> 5 & 0xFF) >> 8)

        me.shine = a.opaque((0, FULL), shine, me.drawn)

    def state_of(self, me: Memory, wanted: Any) -> Number:
        del me
        return self.a.count(wanted != 0)

    def when_barred(self, me: Memory) -> Any:
        me.on = False
        return 0

    def limited(self, me: Memory, wanted: Any) -> Any:
        a, function = self.a, self.function
        me.lit = wanted != 0
        lowest = a.most(wanted, me.level - function.down_per_256)
        return a.least(lowest, me.level + function.up_per_256)

    def become(self, me: Memory, wanted: Any) -> None:
        me.level = wanted

    def state(self, me: Memory) -> Number:
        return self.a.count(me.level != 0)

    def lines_on(self, me: Memory) -> dict[int, Truth]:
        del me
        return {}

    def levels(self, me: Memory) -> tuple[int, ...]:
        return (DUTIES[me.level >> 8],)

    def recall(self, me: Memory, kept: bytes) -> None:
        me.on = kept == b"\x01"

    def recalled(self, me: Memory) -> Truth:
        if not self.function.remember:
            return False
        a = self.a
        dark = [me.brightness == 0, me.level == 0, me.hold == 0, me.shine == 0]
        dark += [a.no(me.ready), a.no(me.lit), me.drawn == self._drawn_first]
        return a.both(me.on, *dark)

    @property
    def fade_ticks(self) -> int:
        """How long it takes at most from full to dark."""
        return -(-WHOLE_FADE // self.function.down_per_256)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        return (
            bytes_as_word(self.so_word(me), int(me.on)),
            bytes_as_word(int(me.ready), me.brightness),
            me.level,
            bytes_as_word(me.hold, me.shine),
            me.drawn,
        )
