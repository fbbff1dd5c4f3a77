"""Sensors of the plan, and what a text such as "bilge sensor above 2.5 V" means in their counts."""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from gen.diagnostics import Severity, nearest, show
from gen.plan import MOST_COUNTS, AnalogueSensor, DigitalSensor, Felt
from gen.read.keys import complain
from gen.resolve.doings import function_named
from gen.sensors import AnalogueItem, DigitalItem
from gen.units import VOLTAGE, Wrong, decimal_text, quantity

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.diagnostics import Problems
    from gen.plan import Sensor
    from gen.read.keys import Located
    from gen.resolve.codes import Codes
    from gen.resolve.pins import Pins
    from gen.sensors import SensorItem

MOST_ANALOGUE = 8
"""One conversion takes 0.1 ms, and each must come round before every tick, whatever else is on."""

SOURCE_MOST_OHM = 10_000
"""Atmel-8271H (ATmega328P), Analog Input Circuitry (clause from memory): the converter is made for
sources of 10 kohm or less."""

LEVELS = {"open": 0, "closed": 1}


def resolve_sensors(
    items: Sequence[SensorItem], codes: Codes, pins: Pins, problems: Problems
) -> tuple[Sensor, ...]:
    """The sensors by name, each problem noted."""
    analogue = [item for item in items if isinstance(item, AnalogueItem)]
    for item in analogue[MOST_ANALOGUE:]:
        what = f"sensor {show(item.name.value)}: one voltage too many"
        expected = f"at most {MOST_ANALOGUE}"
        problems.add(
            "too-many-sensors", item.place, what, got=str(len(analogue)), expected=expected
        )
    sensors = [_sensor(item, codes, pins, problems) for item in items]
    return tuple(sorted(sensors, key=lambda sensor: sensor.name))


def _sensor(item: SensorItem, codes: Codes, pins: Pins, problems: Problems) -> Sensor:
    label = f"sensor {show(item.name.value)}"
    code = codes.whole(item.name, label, item.code_name)
    name, line = item.name.value, item.place.line
    if isinstance(item, DigitalItem):
        pin = pins.take(item.pin, label)
        label_of_pin = pin.name if pin is not None else item.pin.value
        active_low = item.active.value == "low"
        return DigitalSensor(name, code, label_of_pin, active_low, item.debounce.value, line)
    pin = pins.take_to_measure(item.pin, label)
    if item.divider is not None:
        upper, lower = item.divider.value
        source = upper * lower / (upper + lower)
        if source > SOURCE_MOST_OHM:
            problems.add(
                "weak-divider",
                item.divider.place,
                f"{label}: the divider is too weak for the converter",
                got=f"{decimal_text(source.quantize(Decimal(1)))} ohm in parallel",
                expected=f"at most {SOURCE_MOST_OHM} ohm",
                severity=Severity.WARNING,
            )
    share = share_per_65536(item.filter.value)
    full_scale = voltage_at(item, Decimal(MOST_COUNTS + 1)) * 1000
    return AnalogueSensor(
        name=name,
        code=code,
        pin=pin.name if pin is not None else item.pin.value,
        share_per_65536=share,
        full_scale_uv=int(full_scale.to_integral_value(ROUND_HALF_UP)),
        source_line=line,
    )


def share_per_65536(time_constant_ticks: int) -> int:
    """How far a filter of this time constant goes in one tick: 1 - exp(-1/T), to the nearest
    1/65536; 0 for no filter. After T ticks it has gone 1 - 1/e of a jump."""
    if time_constant_ticks == 0:
        return 0
    share = 1 - (Decimal(-1) / time_constant_ticks).exp()
    return int((share * 65536).to_integral_value(ROUND_HALF_UP))


class Feeling:
    """Looks up what a text says of a sensor."""

    def __init__(
        self,
        items: dict[str, SensorItem],
        broken: frozenset[str],
        sensors: tuple[Sensor, ...],
        problems: Problems,
    ) -> None:
        self.broken = broken
        self._items = items
        self._names = [sensor.name for sensor in sensors]
        self._problems = problems
        self.used: set[str] = set()

    @property
    def names(self) -> list[str]:
        """The names of all sensors."""
        return self._names

    def names_one(self, text: str) -> str | None:
        """The sensor that a text begins with, the longest name that fits."""
        return function_named(text, self._items) or None

    def felt(self, label: str, written: Located[Any], text: str) -> Felt | None:
        """What `text` says of the sensor that it begins with; None after noting what is wrong."""
        name = self.names_one(text)
        if name is None:
            raise ValueError(f"{text} names no sensor")
        self.used.add(name)
        item = self._items[name]
        word, _, rest = text[len(name) :].strip().partition(" ")
        if isinstance(item, DigitalItem):
            if word in LEVELS and not rest:
                return Felt(self._names.index(name), LEVELS[word], LEVELS[word])
            expected, hint = f"{name} open or {name} closed", nearest(word, LEVELS, most_listed=0)
        else:
            if word in ("above", "below"):
                return self._voltage(label, written, item, word, rest)
            expected = f"{name} above or below a voltage such as 2.5 V"
            hint = nearest(word, ("above", "below"), most_listed=0)
        self._problems.add(
            "wrong-sensor",
            written.place,
            f"{label}: this cannot be said of the sensor {show(name)}",
            got=show(written.text),
            expected=expected,
            hint=hint,
        )
        return None

    def _voltage(
        self, label: str, written: Located[Any], item: AnalogueItem, word: str, text: str
    ) -> Felt | None:
        try:
            size_mv, _ = quantity(text, VOLTAGE)
        except Wrong as wrong:
            complain(self._problems, written.place, f"{label}: the voltage", text, wrong)
            return None
        counts = counts_at(item, size_mv)
        low, high = 0, MOST_COUNTS
        if word == "above":
            low = int(counts.to_integral_value(ROUND_FLOOR)) + 1
        else:
            high = min(high, int(counts.to_integral_value(ROUND_CEILING)) - 1)
        if low > high or (low, high) == (0, MOST_COUNTS):
            most = voltage_at(item, Decimal(MOST_COUNTS)) / 1000
            shown = decimal_text(most.quantize(Decimal("0.01"), ROUND_HALF_UP))
            how_often = "never" if low > high else "always"
            self._problems.add(
                "never-felt",
                written.place,
                f"{label}: the sensor {show(item.name.value)} {how_often} reads this",
                got=show(written.text),
                expected=f"a voltage between 0 V and {shown} V",
            )
            return None
        return Felt(self._names.index(item.name.value), low, high)


def counts_at(item: AnalogueItem, size_mv: Decimal) -> Decimal:
    """The exact reading at a voltage, V * 1024 / reference at the pin (ATmega328P datasheet, ADC
    Conversion Result; from memory). `above` holds for every whole count that is more than this,
    `below` for every one that is less: nothing is rounded."""
    upper, lower = item.divider.value if item.divider is not None else (Decimal(0), Decimal(1))
    return size_mv * lower / (upper + lower) * (MOST_COUNTS + 1) / item.reference.value


def voltage_at(item: AnalogueItem, counts: Decimal) -> Decimal:
    """The voltage in mV at a reading: the same the other way round."""
    upper, lower = item.divider.value if item.divider is not None else (Decimal(0), Decimal(1))
    return counts * item.reference.value * (upper + lower) / lower / (MOST_COUNTS + 1)
