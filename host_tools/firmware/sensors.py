"""A trace's readings as voltages and levels on pins, and whether the chip read what was there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import MOST_COUNTS, AnalogueSensor, DigitalSensor
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import CYCLES_A_TICK, Misread

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.trace import Trace

SUPPLY_MV = 5000
"""What the simulated chip is supplied with."""

CHANGE_CYCLES = 1_500 * 16
"""A reading changes so long after the tick before its own. That one has then read what it was to
read, even if noise has delayed it by a millisecond; and every voltage is measured once more in
time, unless a flood of pulses keeps the processor from it."""

FIRST_CYCLES = 1
"""What a sensor reads in the first tick it has read from the beginning."""


class SensorPins:
    """Where a plan's sensors are driven: contacts on pins behind those of the channels, voltages on
    channels of the converter behind these."""

    def __init__(self, plan: Plan) -> None:
        sensors = plan.sensors
        self.contacts = [one.pin for one in sensors if isinstance(one, DigitalSensor)]
        self.voltages = [one.pin for one in sensors if isinstance(one, AnalogueSensor)]
        self._pins = [len(plan.inputs) + self._place(sensors, i) for i in range(len(sensors))]
        self._is_voltage = np.array([isinstance(one, AnalogueSensor) for one in sensors], np.bool_)

    def _place(self, sensors: tuple[object, ...], index: int) -> int:
        kind = type(sensors[index])
        before = sum(type(one) is kind for one in sensors[:index])
        return before + (len(self.contacts) if kind is AnalogueSensor else 0)

    def events(self, trace: Trace, first_tick: int) -> NDArray[np.void]:
        """Every change of a reading, in the order of time. `first_tick` is when tick 0 samples."""
        ticks, sensors, readings = trace.felt
        events = np.zeros(len(ticks), dtype=EVENT)
        if not len(ticks):
            return events
        when = first_tick + (ticks - 1) * CYCLES_A_TICK + CHANGE_CYCLES
        events["cycle"] = np.where(ticks == 0, FIRST_CYCLES, when)
        events["input"] = np.array(self._pins)[sensors]
        voltage = self._is_voltage[sensors]
        events["level"] = np.where(voltage, 0, readings)
        events["millivolts"] = np.where(voltage, millivolts(readings), 0)
        return events


def millivolts(counts: NDArray[np.uint16]) -> NDArray[np.int64]:
    """The smallest voltage that reads so. The chip's full scale is 1024 counts; its simulator's is
    1023."""
    return -(-counts.astype(np.int64) * SUPPLY_MV // MOST_COUNTS)


def in_order(first: NDArray[np.void], second: NDArray[np.void]) -> NDArray[np.void]:
    """Two rows of events in the order of time."""
    both = np.concatenate([first, second])
    return both[np.argsort(both["cycle"], kind="stable")]


def as_felt(readings: NDArray[np.uint16], seen: Trace, names: tuple[str, ...]) -> Trace:
    """The trace `seen` with the readings of all reports, where they changed."""
    if not names:
        return seen
    readings = readings[:, : len(names)]
    changed = np.vstack([np.ones_like(readings[:1], np.bool_), readings[1:] != readings[:-1]])
    ticks, sensors = np.nonzero(changed)
    felt = zip(ticks.tolist(), sensors.tolist(), readings[ticks, sensors].tolist(), strict=True)
    return seen.with_readings(names, felt)


def first_misfelt(given: Trace, readings: NDArray[np.uint16]) -> Misread | None:
    """The first reading that is neither what was given in its tick nor what was in the tick before,
    None if there is none."""
    if not given.sensors or not given.ticks:
        return None
    now = given.readings_by_tick()
    before = np.vstack([now[:1], now[:-1]])
    got = readings[:, : len(given.sensors)]
    wrong = np.argwhere((got != now) & (got != before))
    if not len(wrong):
        return None
    tick, sensor = wrong[0].tolist()
    return Misread(
        tick,
        f"sensor {given.sensors[sensor]}: it was given {now[tick, sensor]} in tick {tick}, "
        f"the chip read {got[tick, sensor]}",
    )
