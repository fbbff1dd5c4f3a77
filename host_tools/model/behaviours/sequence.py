"""Sequence, as `behaviours/sequence.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Loss, Sequence
from host_tools.model.behaviours.base import FunctionModel
from host_tools.model.behaviours.gauge import Gauge
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    import collections.abc

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState


class SequenceModel(FunctionModel[Sequence]):
    """Several lines driven one after another; `leg` counts from 1, 0 is none."""

    def __init__(
        self, function: Sequence, plan: Plan, controls: collections.abc.Sequence[ControlState]
    ) -> None:
        super().__init__(function, plan, controls)
        self.control = controls[function.ask.control]
        self.position = function.ask.position
        abort = function.abort
        self.abort = (controls[abort.control], abort.position) if abort is not None else None
        self.legs = function.legs
        self.keeps = function.on_loss is Loss.KEEP
        self.states = [0, *(function.shown.index(leg.on) + 1 for leg in function.legs)]
        self.bits = [0] + [
            sum(1 << line for bit, line in enumerate(function.own_lines) if leg.on >> bit & 1)
            for leg in function.legs
        ]
        self.leg = 0
        self.left = 0
        self.ready = False

    def asked(self) -> int:
        pressed = False
        if self.control.at_rest():
            self.ready = True
        if self.ready and self.control.held_at(self.position):
            self.ready = False
            pressed = True
        if self.abort is not None and self.abort[0].held_at(self.abort[1]):
            return 0
        if self.leg == 0:
            return int(pressed)
        leg = self.legs[self.leg - 1]
        came = leg.until is not None and bool(self.so >> leg.until & 1)
        over = leg.ticks != 0 and self.left <= 1
        if not came and not over:
            return self.leg
        if not came and leg.aborts:
            return 0
        return self.leg + 1 if self.leg < len(self.legs) else 0

    def when_lost(self, wanted: int) -> int:
        # What goes on may; nothing begins, for the abort may be what cannot be heard.
        return wanted if self.keeps and self.leg else 0

    def as_forced(self, forced: int) -> int:
        if forced == 0:
            return 0
        if self.force_begins:
            return self.states.index(forced)
        over = self.leg and self.legs[self.leg - 1].ticks and self.left <= 1
        return 0 if over else self.leg

    def state_of(self, wanted: int) -> int:
        return self.states[wanted]

    def become(self, state: int) -> None:
        if state == 0:
            self.left = 0
        elif state != self.leg:
            self.left = self.legs[state - 1].ticks
        elif self.left:
            self.left -= 1
        self.leg = state

    def state(self) -> int:
        return self.states[self.leg]

    def lines_on(self) -> int:
        return self.bits[self.leg]

    def gauges(self) -> tuple[Gauge, ...]:
        if not self.leg:
            return ()
        what = f"step {self.leg} of {len(self.legs)}"
        return (Gauge(what, self.left, self.legs[self.leg - 1].ticks),)

    def fields(self) -> tuple[int, ...]:
        return (self.so, bytes_as_word(self.leg, self.ready), self.left)
