"""Sensors, as `logic/sensor.h` has them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from gen.plan import AnalogueSensor

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import DigitalSensor, Sensor, Stage

NOT_FELT: Final = 0xFFFF
"""The value of a sensor before it was read: within no band."""


class SensorState:
    """A sensor at work. `reading` is what its pin says, `value` what is believed of it."""

    def __init__(self) -> None:
        self.reading = 0
        self.value = NOT_FELT
        self.functions: list[int] = []

    def felt(self, low: int, high: int) -> bool:
        """Whether it is from `low` to `high`."""
        return low <= self.value <= high

    def feel(self) -> None:
        """One tick."""
        raise NotImplementedError

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it. A sensor that a tick leaves unchanged stays as it is until
        its reading changes."""
        raise NotImplementedError


class VoltageState(SensorState):
    """A voltage, smoothed."""

    def __init__(self, sensor: AnalogueSensor) -> None:
        super().__init__()
        self.share = sensor.share_per_65536
        self.level = 0

    def feel(self) -> None:
        reading = self.reading << 16
        if self.share == 0 or self.value == NOT_FELT:
            self.level = reading
        else:
            way = 1 if reading > self.level else -1
            self.level += way * ((abs(reading - self.level) >> 12) * self.share >> 4)
        self.value = (self.level + 0x8000) >> 16

    def fields(self) -> tuple[int, ...]:
        return (self.value, self.level & 0xFFFF, self.level >> 16)


class ContactState(SensorState):
    """A contact, debounced."""

    def __init__(self, sensor: DigitalSensor) -> None:
        super().__init__()
        self.closed_level = 0 if sensor.active_low else 1
        self.debounce = sensor.debounce_ticks
        self.count = 0

    def feel(self) -> None:
        closed = int(self.reading == self.closed_level)
        if self.value == NOT_FELT:
            self.value = closed
        if closed == self.value:
            self.count = 0
            return
        self.count += 1
        if self.count >= self.debounce:
            self.value = closed
            self.count = 0

    def fields(self) -> tuple[int, ...]:
        return (self.value, self.count)


class StageState:
    """How far a battery has run down, as `logic/gate.h` has it."""

    def __init__(self, stage: Stage, sensors: Sequence[SensorState]) -> None:
        self.sensor = sensors[stage.below.sensor]
        self.stage = stage
        self.low = False
        self.since = 0
        self.functions: list[int] = []

    def look(self) -> None:
        """One tick."""
        felt, ticks = (
            (self.stage.above, self.stage.back_ticks)
            if self.low
            else (self.stage.below, self.stage.for_ticks)
        )
        if not self.sensor.felt(felt.low, felt.high):
            self.since = 0
        elif self.since < ticks:
            self.since += 1
        else:
            self.low = not self.low
            self.since = 0

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it."""
        return (int(self.low), self.since)


def sensor_state(sensor: Sensor) -> SensorState:
    """The state that this sensor has."""
    if isinstance(sensor, AnalogueSensor):
        return VoltageState(sensor)
    return ContactState(sensor)
