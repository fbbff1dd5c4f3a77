"""What a board told, kept as columns of numbers: a trace, and what was driven beside it."""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import FORCE
from host_tools.record import Record
from host_tools.rows import as_rows
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.link.told import TickLine

WIDEST_HALF_US = 0xFFFF


@dataclass(frozen=True)
class Names:
    """Whose the recording is, and what its columns are called."""

    inputs: tuple[str, ...]
    readings: tuple[str, ...] = ()
    ship: str = ""
    plan_id: str = ""

    @classmethod
    def of(cls, plan: Plan) -> Names:
        """Those of a ship."""
        return cls(
            tuple(one.name for one in plan.inputs),
            plan.readings,
            plan.ship,
            plan.plan_id,
        )


class _Changes:
    """Several numbers that change now and then."""

    def __init__(self) -> None:
        self.at = array("q")
        self.which = array("H")
        self.value = array("Q")

    def add(self, tick: int, which: int, value: int) -> None:
        self.at.append(tick)
        self.which.append(which)
        self.value.append(value)

    def told(self) -> Iterator[tuple[int, int, int]]:
        """Tick, which of them, and its value."""
        return zip(self.at, self.which, self.value, strict=True)

    def by_tick(self, begins: Sequence[int], ticks: int) -> NDArray[np.uint64]:
        """Each of them in every tick (shape: ticks, how many); before it was told it is as in
        `begins`."""
        at, which = np.array(self.at, np.int64), np.array(self.which, np.int64)
        value = np.array(self.value, np.uint64)
        table = np.empty((ticks, len(begins)), np.uint64)
        for column, begin in enumerate(begins):
            mine = (which == column) & (at < ticks)
            spans = np.diff(np.concatenate(([0], at[mine], [ticks])))
            table[:, column] = np.repeat(
                np.concatenate((np.array([begin], np.uint64), value[mine])), spans
            )
        return table


class Recording:
    """Grows line by line; `first` is the board's tick that becomes tick 0."""

    def __init__(self, first: int = 0) -> None:
        self.first = first
        self.ticks = 0
        self._at = array("q")
        self._inputs = array("B")
        self._widths = array("H")
        self._felt = _Changes()
        self._forces = _Changes()
        self._lines = _Changes()
        self._servos = _Changes()
        self._levels = _Changes()

    @property
    def pulses(self) -> int:
        """How many were told."""
        return len(self._at)

    def add(self, tick: int, line: TickLine) -> None:
        """A line and its tick, counted from power-up; ticks never fall."""
        at = tick - self.first
        if at < self.ticks - 1:
            raise ValueError(f"tick {tick} comes after tick {self.first + self.ticks - 1}")
        self.ticks = at + 1
        for source, width in line.pulses:
            self._at.append(at)
            self._inputs.append(source)
            self._widths.append(min(width, WIDEST_HALF_US))
        for sensor, reading in line.readings.items():
            self._felt.add(at, sensor, reading)
        if line.force is not None:
            self._forces.add(at, 0, line.force)
        if line.lines is not None:
            self._lines.add(at, 0, line.lines)
        for servo, width in line.servos_half_us.items():
            self._servos.add(at, servo, width)
        for light, duty in line.levels.items():
            self._levels.add(at, light, duty)

    def lasted(self, until: int) -> None:
        """Every tick before `until`, of the board's, is over, told or not."""
        self.ticks = max(self.ticks, until - self.first)

    def pulse_columns(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """Tick, input and width of every pulse, in the order in which they were seen."""
        return (
            np.array(self._at, np.int64),
            np.array(self._inputs, np.int64),
            np.array(self._widths, np.int64),
        )

    def trace(self, names: Names, source: str, kept: bytes = b"") -> Trace:
        """Its pulses and readings. An input without a name is left out."""
        at, inputs, widths = self.pulse_columns()
        named = [source for source, name in enumerate(names.inputs) if name]
        known = np.isin(inputs, named) & (widths > 0)
        columns = np.searchsorted(named, inputs[known])
        rows, table = as_rows(at[known], columns, widths[known], len(named))
        trace = Trace(
            self.ticks,
            tuple(names.inputs[source] for source in named),
            rows,
            table,
            names.ship,
            names.plan_id,
            source,
            kept=kept,
        )
        if not names.readings:
            return trace
        sensors = len(names.readings) - (FORCE in names.readings)
        felt = [one for one in self._felt.told() if one[1] < sensors]
        if FORCE in names.readings:
            felt += [(tick, sensors, force) for tick, _, force in self._forces.told()]
        return trace.with_readings(names.readings, felt)

    def record(self, plan: Plan, source: str, kept: bytes = b"") -> Record:
        """The whole: what was seen, and what the board says that it drove."""
        rests = [servo.rest_half_us for servo in plan.servos]
        return Record(
            self.trace(Names.of(plan), source, kept),
            self._lines.by_tick([0], self.ticks)[:, 0],
            self._servos.by_tick(rests, self.ticks).astype(np.uint16),
            self._levels.by_tick([0] * len(plan.lights), self.ticks).astype(np.uint8),
            None,
        )
