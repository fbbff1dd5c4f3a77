"""Sensors and the battery's stages, as `host_tools/model/sensors.py` has them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import MOST_COUNTS, AnalogueSensor
from host_tools.model.sensors import NOT_FELT
from host_tools.prove.encoding.part import Count, Flag, Part, Variable

if TYPE_CHECKING:
    from gen.plan import DigitalSensor, Felt, Sensor, Stage
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.part import Memory


def felt(a: Any, value: Number, band: Felt) -> Truth:
    """Whether a sensor's value is within a band."""
    return a.both(band.low <= value, value <= band.high)


class VoltageEncoding(Part):
    """A voltage, smoothed."""

    def __init__(self, a: Any, sensor: AnalogueSensor) -> None:
        super().__init__(a)
        self.share = sensor.share_per_65536

    def variables(self) -> dict[str, Variable]:
        return {
            "value": Count(0, NOT_FELT, NOT_FELT),
            "level": Count(0, MOST_COUNTS << 16, bits=32),
        }

    def keeps(self, me: Memory) -> Truth:
        return self.a.any_of(me.value <= MOST_COUNTS, me.value == NOT_FELT)

    def feel(self, me: Memory, reading: Number) -> None:
        """One tick."""
        a, full = self.a, reading * 65536
        if self.share == 0:
            me.level = full
        else:
            up, down = (
                a.divided(a.divided(way, 4096) * self.share, 16)
                for way in (full - me.level, me.level - full)
            )
            smoothed = a.either(full > me.level, me.level + up, me.level - down)
            me.level = a.either(me.value == NOT_FELT, full, smoothed)
        me.value = a.divided(me.level + 0x8000, 65536)

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        return me.value, me.level & 0xFFFF, me.level >> 16


class ContactEncoding(Part):
    """A contact, debounced."""

    def __init__(self, a: Any, sensor: DigitalSensor) -> None:
        super().__init__(a)
        self.closed_level = 0 if sensor.active_low else 1
        self.debounce = sensor.debounce_ticks

    def variables(self) -> dict[str, Variable]:
        return {"value": Count(0, NOT_FELT, NOT_FELT), "count": Count(0, self.debounce)}

    def keeps(self, me: Memory) -> Truth:
        return self.a.any_of(me.value <= 1, me.value == NOT_FELT)

    def feel(self, me: Memory, reading: Number) -> None:
        """One tick."""
        a = self.a
        closed = a.count(reading == self.closed_level)
        value = a.either(me.value == NOT_FELT, closed, me.value)
        count = a.either(closed == value, 0, me.count + 1)
        believed = count >= max(1, self.debounce)
        me.value = a.either(believed, closed, value)
        me.count = a.either(believed, 0, count)

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        return me.value, me.count


class StageEncoding(Part):
    """How far a battery has run down."""

    def __init__(self, a: Any, stage: Stage) -> None:
        super().__init__(a)
        self.stage = stage

    def variables(self) -> dict[str, Variable]:
        most = max(self.stage.for_ticks, self.stage.back_ticks)
        return {"low": Flag(), "since": Count(0, most)}

    def look(self, me: Memory, value: Number) -> None:
        """One tick; `value` is its sensor's."""
        a, stage = self.a, self.stage
        so = a.either(me.low, felt(a, value, stage.above), felt(a, value, stage.below))
        ticks = a.either(me.low, stage.back_ticks, stage.for_ticks)
        turns = a.both(so, me.since >= ticks)
        me.since = a.either(a.both(so, a.no(turns)), me.since + 1, 0)
        me.low = a.either(turns, a.no(me.low), me.low)

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        return int(me.low), me.since


def sensor_encoding(a: Any, sensor: Sensor) -> VoltageEncoding | ContactEncoding:
    """The encoding of this sensor."""
    if isinstance(sensor, AnalogueSensor):
        return VoltageEncoding(a, sensor)
    return ContactEncoding(a, sensor)
