"""Lines, pairs, servos and shift registers of the plan."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.diagnostics import Problems, Severity, show
from gen.plan import Light, Line, Pair, Servo, ShiftRegister
from gen.read.keys import Located
from gen.resolve.codes import Codes
from gen.resolve.light_units import light_units
from gen.resolve.pins import Pins
from gen.resolve.servo_units import SOFTWARE, servo_units
from gen.ship import DimmerItem, LineItem, PairItem, RegisterItem, ServoItem
from gen.units import us_text

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.boards import Board, Pin
    from gen.diagnostics import Place
    from gen.ship import OutputItem, Ship

MOST_LINES = 64
"""A tick's lines are recorded as the bits of one 64-bit number."""


@dataclass(frozen=True)
class Burden:
    """What one pin carries while its output is on: mA into the pin (`sinks`) or out of it. Pins of
    the same `output` are never on together."""

    output: str
    pin: Pin
    sinks: bool
    draws_ma: Decimal
    place: Place


@dataclass
class ResolvedOutputs:
    """The outputs by name; of a pair, `ways` in the order of its lines."""

    lines: list[Line] = field(default_factory=list)
    pairs: list[Pair] = field(default_factory=list)
    servos: list[Servo] = field(default_factory=list)
    registers: list[ShiftRegister] = field(default_factory=list)
    used_registers: set[str] = field(default_factory=set)
    lights: list[Light] = field(default_factory=list)
    ways: dict[str, tuple[str, str]] = field(default_factory=dict)
    burdens: list[Burden] = field(default_factory=list)


def with_lines_of_registers(ship: Ship) -> Ship:
    """The ship with an output for each output of a shift register that a function drives by its own
    name ("drives: shelf 3"): a line of that name, switched on by the register's `active` level."""
    outputs = ship.outputs
    added: dict[str, OutputItem] = {}
    for drives in (drives for function in ship.functions for drives in function.driven()):
        register = outputs.items.get(drives.value.rpartition(" ")[0])
        if (
            isinstance(register, RegisterItem)
            and drives.value.rpartition(" ")[2].isdigit()
            and drives.value not in outputs.places
        ):
            added[drives.value] = LineItem(
                place=drives.place,
                name=drives,
                pin=drives,
                kind=Located("relay", "relay", drives.place),
                active=register.active,
                draws=register.draws,
                coil=register.coil,
                contacts=register.contacts,
                driver=register.driver,
            )
    if not added:
        return ship
    items = {**outputs.items, **added}
    places = {**outputs.places, **{name: item.place for name, item in added.items()}}
    section = dataclasses.replace(outputs, items=items, places=places)
    return dataclasses.replace(ship, outputs=section)


def burdens_of(ship: Ship, board: Board) -> tuple[Burden, ...]:
    """What each pin of a ship without fault carries; `ship` has the lines of its registers."""
    noted = Problems("")
    made = Outputs(board, Codes(noted), Pins(board, noted), noted).resolve(ship)
    return tuple(made.burdens)


class Outputs:
    """Resolves the section of outputs."""

    def __init__(self, board: Board, codes: Codes, pins: Pins, problems: Problems) -> None:
        self.board = board
        self.codes = codes
        self.pins = pins
        self.problems = problems
        self.result = ResolvedOutputs()
        self._servo_pins: list[tuple[ServoItem, Pin]] = []
        self._light_pins: list[tuple[DimmerItem, Pin]] = []
        self._pairs: dict[str, tuple[str, str, str]] = {}

    def resolve(self, ship: Ship) -> ResolvedOutputs:
        """Every output of the ship, each problem noted."""
        items = list(ship.outputs)
        for item in items:
            if isinstance(item, RegisterItem):
                self._register(item)
        self.result.registers.sort(key=lambda register: register.name)
        for item in items:
            if isinstance(item, LineItem):
                self._line(item)
            elif isinstance(item, PairItem):
                self._pair_of_lines(item)
        self.result.lines.sort(key=lambda line: line.name)
        if len(self.result.lines) > MOST_LINES:
            what = "more digital outputs than one tick's record can hold"
            got, expected = str(len(self.result.lines)), f"at most {MOST_LINES}"
            self.problems.add(
                "too-many-lines", ship.outputs.place, what, got=got, expected=expected
            )
        numbers = {line.name: number for number, line in enumerate(self.result.lines)}
        for item in items:
            if isinstance(item, PairItem):
                self._pair(item, numbers)
        servos = [item for item in items if isinstance(item, ServoItem)]
        for servo in servos:
            self._servo_pin(servo)
        units = servo_units(self._servo_pins, self.board, self.problems)
        for servo in servos:
            self._servo(servo, units.get(servo.name.value, SOFTWARE))
        lights = [item for item in items if isinstance(item, DimmerItem)]
        for light in lights:
            self._light_pin(light)
        units = light_units(self._light_pins, self.result.servos, self.board, self.problems)
        for light in lights:
            self._light(light, units.get(light.name.value, SOFTWARE))
        self.result.lights.sort(key=lambda light: light.name)
        self.result.pairs.sort(key=lambda pair: pair.name)
        self.result.servos.sort(key=lambda servo: servo.name)
        return self.result

    def _register(self, item: RegisterItem) -> None:
        label = f"output {show(item.name.value)}"
        data, clock, latch = (
            self._register_pin(item, pin) for pin in (item.data, item.clock, item.latch)
        )
        blank = "" if item.blank is None else self._register_pin(item, item.blank)
        if item.blank is None:
            self.problems.add(
                "no-blank",
                item.place,
                f"{label}: until the program starts its outputs may be on",
                expected="blank: a pin such as D12",
                severity=Severity.WARNING,
            )
        self.result.registers.append(
            ShiftRegister(
                name=item.name.value,
                code=self.codes.whole(item.name, label, item.code_name),
                data=data,
                clock=clock,
                latch=latch,
                blank=blank,
                outputs=item.outputs.value,
                source_line=item.place.line,
            )
        )

    def _register_pin(self, item: RegisterItem, label: Located[str]) -> str:
        pin = self.pins.take(label, f"output {show(item.name.value)}")
        if pin is None:
            return label.value
        self.result.burdens.append(
            Burden(label.value, pin, False, item.draws.value, item.draws.place)
        )
        return pin.name

    def _shifted(self, label: Located[str], owner: str) -> tuple[int, int] | None:
        """The output of a shift register that a text such as "shelf 3" names, if it names one."""
        for index, register in enumerate(self.result.registers):
            name, _, number = label.value.rpartition(" ")
            if name != register.name or not number.isdigit():
                continue
            self.result.used_registers.add(name)
            if not 1 <= int(number) <= register.outputs:
                self.problems.add(
                    "unknown-pin",
                    label.place,
                    f"{owner}: the shift register has no such output",
                    got=show(label.text),
                    expected=f"{name} 1 to {name} {register.outputs}",
                )
            self.pins.take_shifted(f"{name} {int(number)}", label, owner)
            return index, int(number) - 1
        return None

    def _line(self, item: LineItem) -> None:
        label = f"output {show(item.name.value)}"
        code = self.codes.whole(item.name, label, item.code_name)
        self._add_line(item, item.name.value, code, item.pin, label)

    def _pair_of_lines(self, item: PairItem) -> None:
        label = f"output {show(item.name.value)}"
        pair_code = self.codes.whole(item.name, label, item.code_name)
        names = {}
        for way, pin in item.ways.items.items():
            located = Located(way, way, item.ways.places[way])
            line_label = f"{label}: way {show(way)}"
            folded = self.codes.part(pair_code, located, line_label)
            code = f"{pair_code}_{folded}"
            names[way] = f"{item.name.value} {way}"
            self._add_line(item, names[way], code, pin, line_label)
        first, second = sorted(item.ways.items)
        self._pairs[item.name.value] = (pair_code, names[first], names[second])
        self.result.ways[item.name.value] = (first, second)

    def _add_line(
        self, item: LineItem | PairItem, name: str, code: str, label: Located[str], owner: str
    ) -> None:
        if any(line.name == name for line in self.result.lines):
            what = f"{owner}: another output is called {show(name)}, or a pair and its way are"
            self.problems.add("same-code", label.place, what, hint="rename it")
        active_low = item.active.value == "low"
        shifted = self._shifted(label, owner)
        pin = self.pins.take(label, owner) if shifted is None else None
        if pin is not None:
            self.result.burdens.append(
                Burden(item.name.value, pin, active_low, item.draws.value, item.draws.place)
            )
        name_of_pin = pin.name if pin is not None else label.value
        self.result.lines.append(
            Line(name, code, name_of_pin, active_low, label.place.line, shifted)
        )

    def _pair(self, item: PairItem, numbers: dict[str, int]) -> None:
        name = item.name.value
        code, first, second = self._pairs[name]
        self.result.pairs.append(Pair(name, code, numbers[first], numbers[second], item.place.line))

    def _servo_pin(self, item: ServoItem) -> None:
        pin = self.pins.take(item.pin, f"output {show(item.name.value)}")
        if pin is not None:
            self._servo_pins.append((item, pin))
            self.result.burdens.append(
                Burden(item.name.value, pin, False, item.draws.value, item.draws.place)
            )

    def _servo(self, item: ServoItem, unit: str) -> None:
        label = f"output {show(item.name.value)}"
        low, high = item.range.value
        rest = item.rest.value if item.rest is not None else (low + high) // 2
        if item.rest is not None and not low <= rest <= high:
            inside = f"within {us_text(low)}..{us_text(high)} us"
            what = f"{label}: rest lies outside of its range"
            got = show(item.rest.text)
            self.problems.add("out-of-range", item.rest.place, what, got=got, expected=inside)
        pin = self.board.pin(item.pin.value)
        self.result.servos.append(
            Servo(
                name=item.name.value,
                code=self.codes.whole(item.name, label, item.code_name),
                pin=pin.name if pin is not None else item.pin.value,
                unit=unit,
                range_half_us=(low, high),
                rest_half_us=rest,
                source_line=item.place.line,
            )
        )

    def _light_pin(self, item: DimmerItem) -> None:
        pin = self.pins.take(item.pin, f"output {show(item.name.value)}")
        if pin is not None:
            self._light_pins.append((item, pin))
            self.result.burdens.append(
                Burden(item.name.value, pin, False, item.draws.value, item.draws.place)
            )

    def _light(self, item: DimmerItem, unit: str) -> None:
        label = f"output {show(item.name.value)}"
        code = self.codes.whole(item.name, label, item.code_name)
        pin = self.board.pin(item.pin.value)
        name_of_pin = pin.name if pin is not None else item.pin.value
        self.result.lights.append(Light(item.name.value, code, name_of_pin, unit, item.place.line))
