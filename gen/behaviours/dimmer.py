"""Dimmer: a light with a brightness, with fades and flicker."""

from __future__ import annotations

import binascii
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from gen.behaviours.base import Answer, Cells, DrivesKeys, Function, Loss, seconds
from gen.behaviours.driven import percent
from gen.behaviours.remembering import KEPT_BYTES, REMEMBER, check_remember_pressed
from gen.behaviours.trigger import TRIGGER, Trigger, resolve_trigger
from gen.lightness import FULL, brightness_of
from gen.read.keys import Located, Scalar, key
from gen.read.kinds import Duration, Words, YesNo

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.behaviours.base import FunctionKeys
    from gen.plan import Felt, Plan, StateOf
    from gen.read.keys import JsonSchema
    from gen.resolve.context import Context

LEVEL_FRACTION = 256
"""A dimmer keeps its brightness in 1/256, so that slow fades are even."""

WHOLE_FADE = FULL * LEVEL_FRACTION


class Flicker(NamedTuple):
    """A restless light, drawn anew every `least_ticks` to `least_ticks` + `spread_ticks` (one less
    than a power of two): dark in `dark_of_8` of 8 draws, else between `dimmest` and full, of 255.
    `fade_ticks` is how long a whole fade takes unless the ship file says."""

    least_ticks: int
    spread_ticks: int
    dark_of_8: int
    dimmest: int
    fade_ticks: int


FLICKERS = {
    "fire": Flicker(8, 15, 0, 110, 60),
    "welding": Flicker(2, 7, 3, 170, 1),
}
"""Common practice, no source: a fire never goes out and never jumps, an arc does both."""


class Level(Scalar["Decimal | str"]):
    """A brightness, or the name of a knob that sets it."""

    words = "a percentage such as 80 %, or the name of a knob or stick"

    def parse(self, text: str) -> Decimal | str:
        return percent(text) if text[:1].isdigit() and text.endswith("%") else text

    def schema(self) -> JsonSchema:
        return {"type": "string", "description": self.words}


@dataclass(frozen=True, kw_only=True)
class DimmerKeys(DrivesKeys):
    """A light with a brightness: fixed or set by a knob, with fades and flicker. Brightness is CIE
    1931 lightness, so that a fade looks even."""

    dimmer: Located[str] = key(TRIGGER, "what switches it on", required=True)
    level: Located[Decimal | str] = key(
        Level(), "how bright it is, or the knob that says so", default="100 %"
    )
    fade_up: Located[int] | None = key(
        Duration("1 s", least_ticks=0, most_ticks=WHOLE_FADE), "the time from dark to full"
    )
    fade_down: Located[int] | None = key(
        Duration("1 s", least_ticks=0, most_ticks=WHOLE_FADE), "the time from full to dark"
    )
    flicker: Located[str] | None = key(Words(*FLICKERS), "how it flickers")
    on_loss: Located[str] = key(
        Words(*Loss), "what it does while the signal is lost", default="off"
    )
    remember: Located[bool] = key(YesNo(), REMEMBER, default="no")

    def depends_on(self) -> tuple[Located[str], ...]:
        return (self.dimmer,)

    def resolve(self, to: Context) -> Dimmer | None:
        trigger = resolve_trigger(self, self.dimmer, to)
        check_remember_pressed(self, self.remember, trigger, to)
        drives = to.light(self)
        level, knob = FULL, None
        if isinstance(self.level.value, str):
            knob = to.proportional(
                self, Located(self.level.value, self.level.text, self.level.place)
            )
            if knob is None:
                return None
        else:
            level = brightness_of(int(self.level.value * 100))
        if trigger is None or drives is None:
            return None
        flicker = FLICKERS[self.flicker.value] if self.flicker is not None else None
        usual = flicker.fade_ticks if flicker is not None else 0
        up, down = (
            given.value if given is not None else usual for given in (self.fade_up, self.fade_down)
        )
        code = to.code(self)
        return Dimmer(
            name=self.name.value,
            code=code,
            on_loss=Loss(self.on_loss.value),
            source_line=self.place.line,
            trigger=trigger,
            brightness=level,
            knob=knob,
            up_per_256=_step(up),
            down_per_256=_step(down),
            flicker=self.flicker.value if self.flicker is not None else "",
            seed=binascii.crc_hqx(code.encode("ascii"), 0xFFFF) | 1 if flicker is not None else 1,
            drives=drives,
            remember=self.remember.value,
        )


def _step(fade_ticks: int) -> int:
    """What brightness changes by in a tick, rounded up: a fade takes at most its time."""
    return -(-WHOLE_FADE // fade_ticks) if fade_ticks else WHOLE_FADE


@dataclass(frozen=True, kw_only=True)
class Dimmer(Function):
    """On while `trigger` holds, at `brightness` (0 to 255) or where the proportional control `knob`
    points, changing by at most `up_per_256` or `down_per_256` a tick. `flicker` names one of
    FLICKERS, drawn from a 16-bit xorshift generator that starts at `seed`. `drives` is an index
    into `Plan.lights`. `remember`: after power-up it is on if it was left on."""

    key: ClassVar[str] = "dimmer"
    memory_begins_from_plan: ClassVar[bool] = True
    written: ClassVar[type[FunctionKeys]] = DimmerKeys

    trigger: Trigger
    brightness: int
    knob: int | None
    up_per_256: int
    down_per_256: int
    flicker: str
    seed: int
    drives: int
    remember: bool = False

    @property
    def kept_bytes(self) -> int:
        return KEPT_BYTES if self.remember else 0

    @property
    def controls(self) -> tuple[int, ...]:
        knob = (self.knob,) if self.knob is not None else ()
        return tuple(sorted({*self.trigger.controls, *knob}))

    @property
    def conditions(self) -> tuple[Felt | StateOf, ...]:
        return self.trigger.conditions

    @property
    def lights(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def lingers(self) -> bool:
        return self.down_per_256 < WHOLE_FADE

    def cells(self, plan: Plan) -> Cells:
        level = f"Brightness({self.brightness})"
        if self.knob is not None:
            level = f"Brightness({plan.value_code(self.knob)})"
        flicker = "NO_FLICKER"
        if self.flicker:
            least, spread, dark, dimmest, _ = FLICKERS[self.flicker]
            flicker = f"Flicker{{{least}, {spread}, {dark}, {dimmest}, {self.seed}}}"
        return Cells(
            asked_by=(self.trigger.cell(plan), level),
            limits=(f"FadePer256{{{self.up_per_256}, {self.down_per_256}}}", flicker),
            drives=(plan.lights[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=", ".join(self._light_in_words()),
        )

    def _light_in_words(self) -> list[str]:
        fades = (("up in", self.up_per_256), ("down in", self.down_per_256))
        words = [
            f"{name} {seconds(-(-WHOLE_FADE // step))}" for name, step in fades if step < WHOLE_FADE
        ]
        return [*words, self.flicker] if self.flicker else words

    @property
    def answers(self) -> tuple[Answer, ...]:
        knob = (Answer(self.knob, None, "sets how bright"),) if self.knob is not None else ()
        return (*self.trigger.answers, *knob)

    def limits_in_words(self, plan: Plan) -> str:
        level = f"{round(self.brightness * 100 / FULL)} %"
        if self.knob is not None:
            level = f"as bright as {plan.controls[self.knob].name} says"
        words = (self.trigger.in_words(plan), ", ".join([level, *self._light_in_words()]))
        return "; ".join(filter(None, words))
