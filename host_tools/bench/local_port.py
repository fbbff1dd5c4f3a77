"""A port to a board that is simulated in this very process, in real time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from host_tools.bench.radio import next_of
from host_tools.link.ports import BREATH_S
from host_tools.rows import as_rows
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gen.plan import Plan
    from host_tools.bench.radio import Comes, Hand, Radio
    from host_tools.link.simulated.board import SimulatedBoard

MOST_AT_ONCE = 20
"""Ticks that are caught up with at a time; what is behind that is let go. On a computer that is too
slow for a simulated chip the ship is slow, too, and the pages are still served."""


class Pins:
    """What comes to a simulated board's pins: from the radio, or from a hand that plays instead."""

    def __init__(self, plan: Plan, radio: Radio) -> None:
        self.plan = plan
        self.radio = radio
        self.hand: Hand = radio
        self.board: SimulatedBoard | None = None
        self._felt: dict[int, int] = {}

    def restart(self, cause: str) -> None:
        """Power goes and comes back."""
        if self.board is not None:
            self.board.power_up(cause)

    def receives(self) -> Iterator[Trace]:
        """A tick's trace at a time, for as long as anybody asks. What starts anew finds its sensors
        as they stand."""
        begins = dict(self._felt)
        while True:
            self.hand, (pulses, felt) = next_of(self.hand, self.radio)
            self._felt.update(felt)
            yield self._trace((pulses, list((begins | dict(felt)).items())))
            begins = {}

    def _trace(self, comes: Comes) -> Trace:
        pulses, felt = comes
        sources = [source for source, _ in pulses]
        widths = [width for _, width in pulses]
        names = tuple(one.name for one in self.plan.inputs)
        rows, table = as_rows(np.zeros(len(pulses)), sources, widths, len(names))
        trace = Trace(1, names, rows, table)
        if not felt:
            return trace
        sensors = tuple(sensor.name for sensor in self.plan.sensors)
        return trace.with_readings(sensors, [(0, sensor, reading) for sensor, reading in felt])


class LocalPort:
    """Runs `board` as fast as `clock` goes; `sleep` lets time pass. To open one is to plug in."""

    speed = 1.0

    def __init__(
        self,
        board: SimulatedBoard,
        clock: Callable[[], float],
        sleep: Callable[[float], None],
        name: str,
    ) -> None:
        self.name = name
        self.board = board
        self._clock = clock
        self._sleep = sleep
        self._sent = b""
        self._ticks = 0
        board.power_up("external")
        self._due_at = clock()

    def now(self) -> float:
        """The board's own seconds: what waits for it waits for as many of its ticks."""
        return self._ticks * TICK_MS / 1000

    def read(self, wait_s: float) -> bytes:
        data = self._run()
        if not data and wait_s > 0:
            self._sleep(min(wait_s, BREATH_S))
            data = self._run()
        return data

    def write(self, data: bytes) -> None:
        self._sent += data

    def close(self) -> None:
        self.board.close()

    def _run(self) -> bytes:
        due = int((self._clock() - self._due_at) * 1000 / TICK_MS + 1e-6)
        self._due_at += max(due, 0) * TICK_MS / 1000
        data = b""
        for _ in range(min(due, MOST_AT_ONCE)):
            wants = self.board.wants()
            sent, self._sent = self._sent[:wants], self._sent[wants:]
            data += self.board.tick(sent)
            self._ticks += 1
        return data
