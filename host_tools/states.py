"""What each function is doing, told from its outputs alone: the same on every rung."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from gen.lightness import DUTIES, FULL
from gen.plan import TICK_MS
from gen.units import us_text

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.behaviours import Function
    from gen.plan import Plan
    from host_tools.record import Record

SERVO_NEAR_HALF_US = 10
"""A servo told a width this near another one (5 us) stands in the same place: it does not answer
less (common practice, no source), and a pulse measured on a real pin is a little off.
"""


BRIGHTNESS_NEAR = 3
"""A light within 3 of 255 of a brightness is at it: about the 1 % that a trial can say."""


@dataclass(frozen=True)
class Doing:
    """The record of one run, read in the ship's words."""

    plan: Plan
    record: Record

    def line(self, line: int) -> NDArray[np.bool_]:
        """Whether a line is on, tick by tick."""
        bit = (self.record.lines >> np.uint64(line)) & np.uint64(1)
        return bit.astype(np.bool_)

    def servo_half_us(self, servo: int) -> NDArray[np.uint16]:
        """What a servo is told, tick by tick."""
        widths: NDArray[np.uint16] = self.record.servos_half_us[:, servo]
        return widths

    def near(
        self, servo: int, low_half_us: int, high_half_us: int | None = None
    ) -> NDArray[np.bool_]:
        """Whether a servo is told a width from low to high or, with one width, near that."""
        told = self.servo_half_us(servo).astype(np.int32)
        if high_half_us is None or high_half_us == low_half_us:
            return np.asarray(np.abs(told - low_half_us) <= SERVO_NEAR_HALF_US, np.bool_)
        return (low_half_us <= told) & (told <= high_half_us)

    def state(self, function: Function) -> NDArray[np.int64]:
        """A function's state, tick by tick: the first of its `states` in which its outputs are as
        they are, or one past them when there is none.
        """
        if function.lines or function.lights:
            state = np.full(len(self.record.lines), len(function.states), np.int64)
            for index in reversed(range(len(function.states))):
                state[self.looks(function, index)] = index
            return state
        away = np.zeros(len(self.record.lines), np.int64)
        for servo in function.servos:
            away |= ~self.near(servo, self.plan.servos[servo].rest_half_us)
        return away

    def looks(self, function: Function, state: int) -> NDArray[np.bool_]:
        """Whether a function's outputs are as in one of its states."""
        if not (function.lines or function.lights):
            return np.asarray(self.state(function) == state, np.bool_)
        looks = np.ones(len(self.record.lines), np.bool_)
        if function.lines:
            for bit, line in enumerate(function.lines):
                looks &= self.line(line) == bool(function.patterns[state] >> bit & 1)
        duties = function.level_patterns
        for index, light in enumerate(function.lights):
            levels = self.record.levels[:, light]
            looks &= (
                (levels != 0) == (state != 0) if duties is None else levels == duties[state][index]
            )
        return looks

    def level_near(self, light: int, brightness: int) -> NDArray[np.bool_]:
        """Whether a light is about as bright as this, of 255."""
        low = DUTIES[max(brightness - BRIGHTNESS_NEAR, 0)]
        high = DUTIES[min(brightness + BRIGHTNESS_NEAR, FULL)]
        levels = self.record.levels[:, light]
        return np.asarray((low <= levels) & (levels <= high), np.bool_)

    def word(self, function: Function, tick: int) -> str:
        """A function's state at one tick, in words: "lowering", "at 1500 us"."""
        if function.servos and not function.lines:
            return ", ".join(
                f"at {show_us(int(self.servo_half_us(servo)[tick]))}" for servo in function.servos
            )
        if function.lights and function.level_patterns is None:
            return ", ".join(
                f"at {brightness_text(int(self.record.levels[tick, light]))}"
                for light in function.lights
            )
        state = int(self.state(function)[tick])
        if state < len(function.states):
            return function.states[state]
        on = [line for line in function.lines if self.line(line)[tick]]
        alone = {mask: word for word, mask in zip(function.states, function.patterns, strict=True)}
        words = [
            alone.get(1 << function.lines.index(line), self.plan.lines[line].name) for line in on
        ]
        return " and ".join(words) or "in between"

    def busy(self, tick: int) -> list[str]:
        """Every function that is not at rest at one tick: "davit lowering"."""
        return [
            f"{function.name} {self.word(function, tick)}"
            for function in self.plan.functions
            if self.state(function)[tick]
        ]


class Mark(NamedTuple):
    """Something that happened at a tick, told by a short text above a picture's lanes."""

    tick: int
    text: str
    failed: bool = False


def brightness_text(duty: int) -> str:
    """A duty as the brightness that it looks like: "40 %"."""
    brightness = next(index for index, one in enumerate(DUTIES) if one >= duty)
    return f"{round(brightness * 100 / FULL)} %"


def show_us(half_us: int) -> str:
    """A width as people read it: 3001 -> "1500.5 us"."""
    return f"{us_text(half_us)} us"


def show_time(ticks: int) -> str:
    """A time as people read it: 241 -> "1.205 s"."""
    return f"{ticks * TICK_MS / 1000:.3f} s"


def show_duration(ticks: int) -> str:
    """A time as people read it, long ones in hours and minutes: "1.205 s", "2 h 3 min 4 s"."""
    whole_s = ticks * TICK_MS // 1000
    if whole_s < 600:
        return show_time(ticks)
    minutes, rest_s = divmod(whole_s, 60)
    hours, minutes = divmod(minutes, 60)
    return (f"{hours} h " if hours else "") + f"{minutes} min {rest_s} s"
