"""What each function is doing, told from its outputs alone: the same on every rung."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

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
        """A function's state, tick by tick: an index into its `states`, or one past them when it
        drives several lines at once.
        """
        if function.lines:
            state = np.zeros(len(self.record.lines), np.int64)
            for index, line in enumerate(function.lines, 1):
                on = self.line(line)
                state = np.where(on & (state > 0), len(function.states), state + on * index)
            return state
        away = np.zeros(len(self.record.lines), np.int64)
        for servo in function.servos:
            away |= ~self.near(servo, self.plan.servos[servo].rest_half_us)
        return away

    def word(self, function: Function, tick: int) -> str:
        """A function's state at one tick, in words: "lowering", "at 1500 us"."""
        if function.servos and not function.lines:
            return ", ".join(
                f"at {show_us(int(self.servo_half_us(servo)[tick]))}" for servo in function.servos
            )
        on = [
            function.states[index + 1]
            for index, line in enumerate(function.lines)
            if self.line(line)[tick]
        ]
        return " and ".join(on) or function.states[0]

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
