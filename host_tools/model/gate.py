"""What functions have to say about each other, as `logic/gate.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours import Function
    from gen.plan import StateOf
    from host_tools.model.behaviours.base import FunctionModel
    from host_tools.model.receiver import ControlState
    from host_tools.model.sensors import StageState

EVERYTHING: Final = 0xFFFF


class GateModel:
    """One function's gate at work."""

    def __init__(
        self,
        function: Function,
        functions: Sequence[FunctionModel[Any]],
        controls: Sequence[ControlState],
        stages: Sequence[StageState],
    ) -> None:
        self.gate = function.gate
        self.stage = stages[self.gate.stage] if self.gate.stage is not None else None
        self.controls = [controls[index] for index in function.controls]
        self.shed = False
        self.functions = functions
        self.since = [0 for first in self.gate.first if first.for_ticks]

    def barred(self, mine: FunctionModel[Any]) -> int:
        """The states that the function is kept out of in this tick, a bit each."""
        barred = 0
        for of in self.gate.only_while:
            if not self._so(of):
                barred = EVERYTHING
        for bar in self.gate.bars:
            if self._so(bar.of):
                barred |= sum(1 << state for state in bar.states)
        wait = 0
        for first in self.gate.first:
            so = self._so(first.of)
            if first.for_ticks:
                so = self._held(wait, so, first.for_ticks)
                wait += 1
            if not so and not mine.state():
                barred = EVERYTHING
        if self._is_shed():
            barred = EVERYTHING
        for other in self.gate.both_is_stop:
            if self.functions[other].asked_state:
                barred = EVERYTHING
        return barred

    def _is_shed(self) -> bool:
        if self.stage is not None and self.stage.low:
            self.shed = True
        elif all(control.at_rest() for control in self.controls):
            self.shed = False
        return self.shed

    def fields(self) -> tuple[int, ...]:
        """What it remembers, in 16-bit words."""
        since = tuple(self.since)
        return since if self.stage is None else (*since, int(self.shed))

    def _so(self, of: StateOf) -> bool:
        return self.functions[of.function].state() in of.states

    def _held(self, wait: int, so: bool, for_ticks: int) -> bool:
        ticks = self.since[wait]
        self.since[wait] = min(ticks + 1, for_ticks) if so else 0
        return so and ticks == for_ticks
