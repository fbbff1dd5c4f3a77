"""The last rung while it happens: what the board sampled is run in the model, and what the board
drove and remembered is compared, tick by tick, with no tolerance.

It begins at a power-up, for only then both remember the same, and goes on until lines are lost:
what the board was told by its receiver in these nobody knows. Only whole batches are compared, so
that a lost line never looks like a difference.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.agree import Difference
from host_tools.link.recording import Names, Recording
from host_tools.model.stepwise import Stepwise

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.plan import Plan
    from host_tools.link.stream import Batch
    from host_tools.link.told import TickLine
    from host_tools.model.stepwise import Driven
    from host_tools.trace import Trace

STRAGGLE_TICKS = 100
"""How long after a tick its line may still come, behind a tally that is told out of its turn."""


class Live:
    """Compares one board with its plan, from power-up to power-up. `compared` counts ticks of all
    of them; `waits_for_start` is why nothing is compared now, "" while something is."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.compared = 0
        self.starts = 0
        self.stopped = 0
        self.difference: Difference | None = None
        self.waits_for_start = ""
        self._waiting: list[Batch] = []
        self._may_begin = False
        self._model: Stepwise | None = None
        self._kept = b""
        self._lines: int | None = None
        self._recording = Recording()

    def start_anew(self) -> None:
        """The board has started; until `begin` its lines are put by."""
        self._waiting = []
        self._may_begin = True
        self._model = None

    def begin(self, kept: bytes) -> None:
        """What the board found at power-up is known."""
        self._kept = kept
        self.waits_for_start = ""
        self._lines = None
        self._recording = Recording()
        self._model = Stepwise(self.plan, kept)
        self._may_begin = True
        waiting, self._waiting = self._waiting, []
        for batch in waiting:
            self.take(batch)

    def take(self, batch: Batch) -> None:
        """Compares what was told between two tallies."""
        if self.difference is not None:
            return
        if self._model is None:
            self._waiting.append(batch)
            return
        if self._may_begin:
            if not batch.lines:
                return
            self._may_begin = False
            if batch.lines[0][0] != 0:
                self.waits_for_start = "the board had started before we listened"
                return
            self.starts += 1
        if self.waits_for_start:
            return
        if not batch.whole:
            self.waits_for_start = "lines were lost on the way"
            self.stopped += 1
            return
        self._compare(batch, self._model)

    def trace(self) -> Trace:
        """What the board has seen since it started, up to the last tick compared."""
        return self._recording.trace(
            Names.of(self.plan), "the board's own sampled inputs", self._kept
        )

    def _compare(self, batch: Batch, model: Stepwise) -> None:
        lines: dict[int, list[TickLine]] = {}
        for tick, line in batch.lines:
            lines.setdefault(tick, []).append(line)
        last = max([*lines, batch.until - STRAGGLE_TICKS])
        for tick in range(model.now, last + 1):
            told = lines.get(tick, [])
            for line in told:
                self._recording.add(tick, line)
                if line.lines is not None:
                    self._lines = line.lines
            self._recording.lasted(tick + 1)
            driven = model.tick(
                [pulse for line in told for pulse in line.pulses],
                [reading for line in told for reading in self._readings(line)],
            )
            self.difference = self._apart(tick, driven, told)
            if self.difference is not None:
                return
            self.compared += 1

    def _readings(self, line: TickLine) -> Iterator[tuple[int, int]]:
        yield from line.readings.items()
        if line.force is not None:
            yield len(self.plan.sensors), line.force

    def _apart(self, tick: int, model: Driven, lines: list[TickLine]) -> Difference | None:
        """What differs in one tick. Lines are told in the tick in which they change, so they are
        compared in every tick; servos and lights when there is room for them."""
        if self._lines is not None and self._lines != model.lines:
            return Difference(tick, "outputs", f"{model.lines:b}", f"{self._lines:b}")
        for line in lines:
            servos = _those(line.servos_half_us, model.servos_half_us)
            if servos != line.servos_half_us:
                return Difference(tick, "servos", str(servos), str(line.servos_half_us))
            levels = _those(line.levels, model.levels)
            if levels != line.levels:
                return Difference(tick, "levels", str(levels), str(line.levels))
            if line.digest != model.digest:
                return Difference(tick, "digest", f"{model.digest:08x}", f"{line.digest:08x}")
        return None


def _those(told: Mapping[int, int], model: tuple[int, ...]) -> dict[int, int]:
    """What the model has where the board told something."""
    return {one: model[one] for one in told if one < len(model)}
