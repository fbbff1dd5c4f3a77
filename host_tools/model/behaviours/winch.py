"""Winch, as `behaviours/winch.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from gen.behaviours import Winch
from host_tools.model.behaviours.base import FunctionModel, words
from host_tools.model.behaviours.gauge import NOT_KNOWN, Gauge
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours.winch import Duty
    from gen.plan import Plan
    from host_tools.model.receiver import ControlState

STOPPED: Final = 0
FIRST: Final = 1
SECOND: Final = 2

NOBODY_KNOWS: Final = 0xFFFFFFFF


class WinchModel(FunctionModel[Winch]):
    """A motor that turns two ways, never both, never past its limits."""

    def __init__(self, function: Winch, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.first = (controls[function.first.control], function.first.position)
        self.second = (controls[function.second.control], function.second.position)
        self.pause = function.pause_ticks
        self.travel = function.first_limit_ticks * function.second_limit_ticks
        self.costs = (0, function.second_limit_ticks, function.first_limit_ticks)
        self.ways = function.ways
        self.rooms = [0, self.travel, self.travel]
        self.motor = STOPPED
        self.turned_last = STOPPED
        self.still = 0
        self.may_unknown = (True, *(function.unknown or (True, True)))
        self.keeps = function.unknown is not None
        self.duty = function.duty
        self.warmth = 0
        self.resting = 0
        self.first_end, self.second_end, self.held_fast = function.bits
        self.stall = function.stall_ticks
        self.stalled = 0
        self.stopped_by_stall = False
        self.has_more = function.type_name == "WinchMore"

    def asked(self) -> int:
        (first, down), (second, up) = self.first, self.second
        asks_first, asks_second = first.held_at(down), second.held_at(up)
        if asks_first == asks_second:
            return STOPPED
        return FIRST if asks_first else SECOND

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        return STOPPED

    def limited(self, wanted: int) -> int:
        at_first, at_second = bool(self.so & self.first_end), bool(self.so & self.second_end)
        turned_away = self.turned_last == (SECOND if at_first else FIRST)
        if at_first != at_second and not turned_away:  # else the switch may have stuck
            self.rooms = [0, 0, self.travel] if at_first else [0, self.travel, 0]
        if wanted == STOPPED:
            self.stopped_by_stall = False
        at_end = (False, at_first, at_second)[wanted]
        if self.resting or self.stopped_by_stall or at_end:
            return STOPPED
        if not (self.may_unknown[wanted] or sum(self.rooms) == self.travel):
            return STOPPED
        if wanted != self.turned_last and self.still < self.pause:
            return STOPPED
        return wanted if self.rooms[wanted] >= self.costs[wanted] else STOPPED

    def become(self, state: int) -> None:
        if state == STOPPED or not self.so & self.held_fast:
            self.stalled = 0
        elif self.stalled < self.stall:
            self.stalled += 1
        else:
            self.stopped_by_stall = True
        if self.duty is not None:
            self.temper(self.duty, state)
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

    def kept(self) -> bytes:
        if not self.keeps:
            return b""
        known = self.motor == STOPPED and sum(self.rooms) == self.travel
        return (self.rooms[FIRST] if known else NOBODY_KNOWS).to_bytes(4, "little")

    def recall(self, kept: bytes) -> None:
        room = int.from_bytes(kept, "little")
        if room <= self.travel:
            self.rooms = [0, room, self.travel - room]

    def temper(self, duty: Duty, state: int) -> None:
        """The motor grows warm while it runs and cools while it stands."""
        if state != STOPPED:
            self.warmth += duty.warms
            if self.warmth >= duty.limit:
                self.resting = 1
            return
        self.warmth = max(0, self.warmth - duty.cools)
        if not self.warmth:
            self.resting = 0

    def state(self) -> int:
        return self.motor

    def line_on(self) -> int | None:
        return None if self.motor == STOPPED else self.motor - FIRST

    def gauges(self) -> tuple[Gauge, ...]:
        told = []
        known = sum(self.rooms) == self.travel
        for way, name in zip((FIRST, SECOND), self.ways, strict=True):
            left = self.rooms[way] // self.costs[way] if known else NOT_KNOWN
            told.append(Gauge(name, left, self.travel // self.costs[way]))
        if self.turned_last != STOPPED and self.still < self.pause and self.motor == STOPPED:
            told.append(Gauge("pause", self.pause - self.still, self.pause))
        if self.resting and self.duty is not None:
            cools = self.duty.cools
            told.append(Gauge("rests", -(-self.warmth // cools), self.duty.limit // cools))
        if self.stalled or self.stopped_by_stall:
            told.append(Gauge("held fast", self.stall - self.stalled, self.stall))
        return tuple(told)

    def fields(self) -> tuple[int, ...]:
        _, first, second = self.rooms
        turns = bytes_as_word(self.motor, self.turned_last)
        fields = (turns, self.still, *words(first), *words(second))
        if not self.has_more:
            return fields
        return (
            *fields,
            *words(self.warmth),
            self.stalled,
            bytes_as_word(self.resting, self.stopped_by_stall),
            self.so,
        )
