"""Winch, as `behaviours/winch.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from gen.behaviours import Winch
from host_tools.model.behaviours.base import FunctionModel, words
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState

STOPPED: Final = 0
FIRST: Final = 1
SECOND: Final = 2


class WinchModel(FunctionModel[Winch]):
    """A motor that turns two ways, never both, never past its limits."""

    def __init__(self, function: Winch, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.first = (controls[function.first.control], function.first.position)
        self.second = (controls[function.second.control], function.second.position)
        self.pause = function.pause_ticks
        self.travel = function.first_limit_ticks * function.second_limit_ticks
        self.costs = (0, function.second_limit_ticks, function.first_limit_ticks)
        self.rooms = [0, self.travel, self.travel]
        self.motor = STOPPED
        self.turned_last = STOPPED
        self.still = 0

    def asked(self) -> int:
        (first, down), (second, up) = self.first, self.second
        asks_first, asks_second = first.held_at(down), second.held_at(up)
        if asks_first == asks_second:
            return STOPPED
        return FIRST if asks_first else SECOND

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        return STOPPED

    def limited(self, wanted: int) -> int:
        if wanted != self.turned_last and self.still < self.pause:
            return STOPPED
        return wanted if self.rooms[wanted] >= self.costs[wanted] else STOPPED

    def become(self, state: int) -> None:
        self.motor = state
        if state == STOPPED:
            self.still = min(self.still + 1, self.pause)
            return
        self.still = 0
        self.turned_last = state
        other = FIRST + SECOND - state
        cost = self.costs[state]
        self.rooms[state] -= cost
        self.rooms[other] = min(self.rooms[other] + cost, self.travel)

    def state(self) -> int:
        return self.motor

    def line_on(self) -> int | None:
        return None if self.motor == STOPPED else self.motor - FIRST

    def fields(self) -> tuple[int, ...]:
        _, first, second = self.rooms
        turns = bytes_as_word(self.motor, self.turned_last)
        return (turns, self.still, *words(first), *words(second))
