"""Rhythm, as `behaviours/rhythm.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from gen.behaviours import Loss, Rhythm
from gen.behaviours.trigger import When
from host_tools.model.behaviours.base import FunctionModel
from host_tools.model.behaviours.gauge import Gauge
from host_tools.model.behaviours.trigger import TriggerModel
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.receiver import ControlState

OFF: Final = 0
ON: Final = 1
PAUSING: Final = 2


class RhythmModel(FunctionModel[Rhythm]):
    """On and off in a pattern."""

    def __init__(self, function: Rhythm, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.trigger = TriggerModel(function.trigger, controls)
        self.phases = function.phases_ticks
        self.first_on = int(not function.begins_on)
        self.once = not function.repeats
        self.done_by_itself = self.once and function.trigger.when is When.PRESSED
        self.keeps_phase = function.keeps_phase
        self.loss = function.on_loss
        self.running = False
        self.on = False
        self.phase = 0
        self.left = 0
        self.remembers = function.remember

    def kept(self) -> bytes:
        return bytes([self.running]) if self.remembers else b""

    def recall(self, kept: bytes) -> None:
        if kept == b"\x01":  # as at the end of a round, so that the next tick begins one
            self.running, self.phase, self.left = True, len(self.phases) - 1, 1

    def asked(self) -> int:
        return self.trigger.asked(self.running, self.so, by_itself=self.once)

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        return self.running if self.loss is Loss.KEEP else self.loss is Loss.ON

    def as_forced(self, forced: int) -> int:
        if self.force_begins and not self.keeps_phase:
            self.phase, self.left = -1, 0  # one before the first
        return forced and (self.force_begins or self.running)

    def become(self, state: int) -> None:
        begins = state and not self.running
        self.running = bool(state)
        if self.keeps_phase:
            if self.left == 0:
                self.left = self.phases[0]
            else:
                self._advance()
        elif begins:
            self.phase, self.left = 0, self.phases[0]
        elif state:
            self._advance()
        else:
            self.phase = self.left = 0
        over = self.phase == len(self.phases)
        self.on = self.running and not over and self.phase % 2 == self.first_on
        if over and self.done_by_itself:
            self.running = False
            self.phase = 0

    def _advance(self) -> None:
        if self.left > 1:
            self.left -= 1
            return
        count = len(self.phases)
        self.phase = min(self.phase + 1, count)
        if self.phase == count:
            if self.once:
                self.left = 0
                return
            self.phase = 0
        self.left = self.phases[self.phase]

    def state(self) -> int:
        if not self.running:
            return OFF
        return ON if self.on else PAUSING

    def line_on(self) -> int | None:
        return 0 if self.on else None

    def gauges(self) -> tuple[Gauge, ...]:
        if not self.running or self.phase >= len(self.phases):
            return ()
        return (Gauge("phase", self.left, self.phases[self.phase]),)

    def fields(self) -> tuple[int, ...]:
        told = bytes_as_word(self.so, self.running)
        return (told, bytes_as_word(self.trigger.ready, self.on), self.phase, self.left)
