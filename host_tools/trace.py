"""A trace: the receiver's pulses and the sensors' readings, tick by tick."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import FORCE, NO_FORCE

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

NO_PULSE = 0
"""The width that stands for "no pulse in this row"."""

HELD = 0xFFFF
"""The reading that stands for "as before"; before its first one a sensor reads 0."""

MAX_TICKS = 2**31
"""A little over 124 days: more than any recording, and small enough for every tool's integers."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Pulses by the tick in which they ended, from power-up.

    `ticks` is how long it lasts; `at` holds the tick of each row, never falling and below `ticks`;
    `widths_half_us` has one row for each entry of `at` and one column for each input
    (`channels` are their names: a channel with a pin of its own, or the sum signal, of which a
    pulse is the time from one of its edges to the next), in half microseconds, `NO_PULSE` where
    nothing came. Two rows with the same tick are two pulses, one
    after the other, in that tick. `readings` has one column for each of `sensors`: what its pin
    says from that tick on (counts of an analogue one, the level of a digital one), or `HELD`. In
    a tick of several rows the last reading counts. Behind the sensors may stand `FORCE`, what the
    bench forces from then on (gen.plan.force_of). `kept` is what the board finds kept at power-up;
    empty is nothing. `ship`, `plan_id` and `source` say whose they
    are and where they came from ("trial 'deck lights latch'", "random, seed 7").

    Raises ValueError when the parts do not fit together.
    """

    ticks: int
    channels: tuple[str, ...]
    at: NDArray[np.int64]
    widths_half_us: NDArray[np.uint16]
    ship: str = ""
    plan_id: str = ""
    source: str = ""
    sensors: tuple[str, ...] = ()
    readings: NDArray[np.uint16] = field(default_factory=lambda: np.zeros((0, 0), np.uint16))
    kept: bytes = b""

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", np.ascontiguousarray(self.at, dtype=np.int64))
        object.__setattr__(
            self, "widths_half_us", np.ascontiguousarray(self.widths_half_us, dtype=np.uint16)
        )
        if not self.sensors:
            object.__setattr__(self, "readings", np.zeros((len(self.at), 0), np.uint16))
        object.__setattr__(self, "readings", np.ascontiguousarray(self.readings, dtype=np.uint16))
        if not 0 <= self.ticks <= MAX_TICKS:
            raise ValueError(f"a trace lasts 0 to {MAX_TICKS} ticks, not {self.ticks}")
        if self.at.ndim != 1:
            raise ValueError("a trace has one tick for each row")
        if self.widths_half_us.shape != (self.rows, len(self.channels)):
            raise ValueError("a trace has one width for each row and channel")
        if self.readings.shape != (self.rows, len(self.sensors)):
            raise ValueError("a trace has one reading for each row and sensor")
        if self.rows and not (self.at[0] >= 0 and self.at[-1] < self.ticks):
            raise ValueError("every row's tick lies within the trace")
        if np.any(self.at[1:] < self.at[:-1]):
            raise ValueError("ticks never fall")

    @property
    def rows(self) -> int:
        """How many rows it has; a tick in which nothing came has none."""
        return len(self.at)

    @property
    def pulses(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.uint16]]:
        """Every pulse: ticks, channels and widths, in order."""
        rows, channels = np.nonzero(self.widths_half_us)
        return self.at[rows], channels, self.widths_half_us[rows, channels]

    def tick_by_tick(self) -> Iterator[tuple[list[tuple[int, int]], list[tuple[int, int]]]]:
        """For each tick its pulses (channel, width) and its readings (sensor, reading)."""
        pulses, felt = (
            deque(zip(*(column.tolist() for column in columns), strict=True))
            for columns in (self.pulses, self.felt)
        )
        for tick in range(self.ticks):
            yield _of_tick(pulses, tick), _of_tick(felt, tick)

    @property
    def felt(self) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.uint16]]:
        """Every reading that is given: ticks, sensors and readings, in order."""
        rows, sensors = np.nonzero(self.readings != HELD)
        return self.at[rows], sensors, self.readings[rows, sensors]

    def with_readings(
        self, sensors: tuple[str, ...], felt: Iterable[tuple[int, int, int]]
    ) -> Trace:
        """The same pulses with what sensors read instead of what they read here: ticks, sensors and
        readings. Of two for one tick and sensor the later one counts."""
        latest = {(tick, sensor): reading for tick, sensor, reading in felt}
        added = np.setdiff1d(np.array([tick for tick, _ in latest], np.int64), self.at)
        at = np.concatenate([self.at, added])
        order = np.argsort(at, kind="stable")
        at = at[order]
        silence = np.full((len(added), len(self.channels)), NO_PULSE, np.uint16)
        readings = np.full((len(at), len(sensors)), HELD, np.uint16)
        keys = np.array(list(latest), np.int64).reshape(-1, 2)
        readings[np.searchsorted(at, keys[:, 0]), keys[:, 1]] = list(latest.values())
        return replace(
            self,
            at=at,
            widths_half_us=np.vstack([self.widths_half_us, silence])[order],
            sensors=sensors,
            readings=readings,
        )

    @property
    def has_forces(self) -> bool:
        """Whether anything is forced in it."""
        if FORCE not in self.sensors:
            return False
        forces = self.readings[:, self.sensors.index(FORCE)]
        return bool(np.any((forces != HELD) & (forces != NO_FORCE)))

    def without_forces(self) -> Trace:
        """The same with nothing forced."""
        if FORCE not in self.sensors:
            return self
        column = self.sensors.index(FORCE)
        sensors = tuple(name for name in self.sensors if name != FORCE)
        return replace(self, sensors=sensors, readings=np.delete(self.readings, column, axis=1))

    def part(self, begin: int, end: int, kept: bytes) -> Trace:
        """The ticks from `begin` to before `end` as a trace of their own, for a board that finds
        `kept` at its power-up. Sensors read what they read then; no force outlives the power."""
        rows = (begin <= self.at) & (self.at < end)
        alone = replace(
            self,
            ticks=end - begin,
            at=self.at[rows] - begin,
            widths_half_us=self.widths_half_us[rows],
            readings=self.readings[rows],
            kept=kept,
        )
        if not self.sensors or begin == 0:
            return alone
        stands = self.readings_by_tick()[begin - 1].tolist()
        ticks, sensors, readings = alone.felt
        felt = zip(ticks.tolist(), sensors.tolist(), readings.tolist(), strict=True)
        begins = [
            (0, sensor, NO_FORCE if name == FORCE else stands[sensor])
            for sensor, name in enumerate(self.sensors)
        ]
        return alone.with_readings(self.sensors, [*begins, *felt])

    def readings_by_tick(self) -> NDArray[np.uint16]:
        """What every sensor reads in every tick (shape: ticks, sensors)."""
        table = np.zeros((self.ticks, len(self.sensors)), np.uint16)
        ticks, sensors, readings = self.felt
        for sensor in range(len(self.sensors)):
            mine = sensors == sensor
            at, values = ticks[mine], readings[mine]
            given = np.zeros(self.ticks, np.int64)
            given[at] = np.arange(1, len(at) + 1)  # the last of a tick's rows stays
            table[:, sensor] = np.concatenate([[0], values])[np.maximum.accumulate(given)]
        return table

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Trace):
            return NotImplemented
        return (
            (self.ticks, self.channels) == (other.ticks, other.channels)
            and (self.ship, self.plan_id, self.source) == (other.ship, other.plan_id, other.source)
            and (self.sensors, self.kept) == (other.sensors, other.kept)
            and np.array_equal(self.at, other.at)
            and np.array_equal(self.readings, other.readings)
            and np.array_equal(self.widths_half_us, other.widths_half_us)
        )

    __hash__ = None  # type: ignore[assignment]  # it holds arrays, and equality looks into them


def _of_tick(left: deque[tuple[int, int, int]], tick: int) -> list[tuple[int, int]]:
    """Takes what belongs to a tick from the front of what is left."""
    taken = []
    while left and left[0][0] == tick:
        _, which, value = left.popleft()
        taken.append((which, value))
    return taken
