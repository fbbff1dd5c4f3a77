"""Auto, as `behaviours/auto.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Auto, Loss
from host_tools.model.behaviours.base import FunctionModel, words
from host_tools.model.behaviours.gauge import Gauge
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Ask, Plan
    from host_tools.model.receiver import ControlState


class AutoModel(FunctionModel[Auto]):
    """On by itself while something is felt."""

    def __init__(self, function: Auto, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.controls = controls
        self.function = function
        self.on = False
        self.rests = False
        self.waited = 0
        self.run_on_left = 0
        self.ran = 0

    def asked(self) -> int:
        stopped = self._held(self.function.stop)
        runs = self._runs_by_itself(stopped)
        return not stopped and (runs or self._held(self.function.by_hand))

    def _held(self, ask: Ask | None) -> bool:
        return ask is not None and self.controls[ask.control].held_at(ask.position)

    def _runs_by_itself(self, stopped: bool) -> bool:
        if not self.so:
            self.waited = 0
            self.rests = False
        due = self.so and self.waited == self.function.wait_ticks
        self.waited += self.so and not due
        runs = due or self.run_on_left > 0
        self.run_on_left = self.function.run_on_ticks if due else max(0, self.run_on_left - 1)
        longest = self.function.longest_ticks
        self.rests = self.rests or stopped or (runs and 0 < longest == self.ran)
        if self.rests:
            self.run_on_left = 0
            runs = False
        self.ran = self.ran + bool(longest) if runs else 0
        return runs

    def when_lost(self, wanted: int) -> int:
        return wanted if self.function.on_loss is Loss.KEEP else False

    def become(self, state: int) -> None:
        self.on = bool(state)
        if not state:
            self.run_on_left = 0
            self.ran = 0

    def state(self) -> int:
        return int(self.on)

    def line_on(self) -> int | None:
        return 0 if self.on else None

    def gauges(self) -> tuple[Gauge, ...]:
        function = self.function
        told = []
        if self.waited < function.wait_ticks and self.so:
            told.append(Gauge("waits", function.wait_ticks - self.waited, function.wait_ticks))
        if self.on and self.run_on_left:
            told.append(Gauge("runs on", self.run_on_left, function.run_on_ticks))
        if self.on and function.longest_ticks:
            left = function.longest_ticks - self.ran
            told.append(Gauge("at most", left, function.longest_ticks))
        return tuple(told)

    def fields(self) -> tuple[int, ...]:
        times = (*words(self.waited), *words(self.run_on_left), *words(self.ran))
        return (bytes_as_word(self.on, 0), bytes_as_word(self.so, self.rests), *times)
