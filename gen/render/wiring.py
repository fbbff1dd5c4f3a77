"""What the board layer's template sees: registers, pin masks and tables in the plan's order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import AnalogueSensor, DigitalSensor

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.boards import Board, Pin
    from gen.plan import Line, Plan

SOFTWARE = "software"
"""The unit of a servo whose pulses the processor makes."""

SOFTWARE_SERVOS_MOST = 8
"""Two in each of a servo frame's four ticks. They take timer 0, which nothing else uses, and no
compare output of a 16-bit timer: they go with any hardware servo, on any pin."""

INPUT_PORTS_MOST = 3
"""The interrupt that stamps edges notes at most three ports; no chip here has more."""

_NO_INPUT = "0"
"""Fills the places of pins that do not listen; they are masked out before the table is read."""


def wiring_view(plan: Plan, board: Board) -> dict[str, Any]:
    """Everything that `board/wiring.h.j2` names after `wiring.`

    Raises ValueError for a plan that does not fit the board; resolving has refused it before.
    """
    inputs = _inputs(plan, board)
    registers = [port["register"] for port in inputs]
    hardware = [(i, servo) for i, servo in enumerate(plan.servos) if servo.unit != SOFTWARE]
    software = [(i, servo) for i, servo in enumerate(plan.servos) if servo.unit == SOFTWARE]
    if len(software) > SOFTWARE_SERVOS_MOST:
        raise ValueError(f"{len(software)} software servos; {SOFTWARE_SERVOS_MOST} is the most")
    return {
        "board": board.name,
        "link": {"usart": board.link.usart, "vector": f"{board.link.vector}_vect"},
        "has_bench": plan.bench is not None,
        "jumper": _port_pin(board, plan.bench.jumper) if plan.bench is not None else None,
        "outputs": _outputs(plan, board),
        "inputs": inputs,
        "has_sum": plan.sum_signal is not None,
        "input_groups": " | ".join(f"_BV({port['group']})" for port in inputs),
        "input_registers": [*registers, *[registers[-1]] * (INPUT_PORTS_MOST - len(registers))],
        "vectors": [
            {"suffix": f"_{index}" if index else "", "vector": f"PCINT{port['group']}_vect"}
            for index, port in enumerate(inputs)
        ],
        **_sensors(plan, board),
        "line_ports": _line_ports(plan, board),
        "registers": _registers(plan, board),
        "hardware_servos": [
            {
                "index": index,
                "register": servo.unit.replace("OC", "OCR"),
                "label": servo.pin,
                "code": servo.code,
            }
            for index, servo in hardware
        ],
        "software_servos": [
            {
                "index": index,
                "letter": _pin(board, servo.pin).port,
                "pin": _mask([_pin(board, servo.pin).bit]),
                "label": servo.pin,
                "code": servo.code,
            }
            for index, servo in software
        ],
        **_lights(plan, board),
        "timers": _timers(board, [servo.unit for _, servo in hardware]),
    }


def _pin(board: Board, label: str) -> Pin:
    pin = board.pin(label)
    if pin is None or not pin.digital:
        raise ValueError(f"{board.name} has no digital pin {label}")
    return pin


def _mask(bits: Iterable[int]) -> str:
    """A byte with these bits set, as the sketch writes it: bit 7 first, like the datasheet."""
    return f"0b{sum(1 << bit for bit in bits):08b}"


def _outputs(plan: Plan, board: Board) -> list[dict[str, str]]:
    """Each port that drives or pulls up something, with the levels at which it drives nothing."""
    driven = [(_pin(board, line.pin), line.active_low) for line in _on_pins(plan)]
    driven += [(_pin(board, servo.pin), False) for servo in plan.servos]
    for register in plan.registers:
        driven += [(_pin(board, pin), pin == register.blank) for pin in register.pins]
    driven += [(_pin(board, light.pin), False) for light in plan.lights]
    pulled_up = [
        _pin(board, sensor.pin)
        for sensor in plan.sensors
        if isinstance(sensor, DigitalSensor) and sensor.active_low
    ]
    if plan.is_recorder:  # nothing is connected to most of its pins: they must not float
        pulled_up += [_pin(board, one.pin) for one in plan.inputs]
    if plan.bench is not None and plan.bench.jumper:
        pulled_up.append(_pin(board, plan.bench.jumper))
    high = [pin for pin, high in driven if high] + pulled_up
    return [
        {
            "letter": letter,
            "pins": _mask(pin.bit for pin, _ in driven if pin.port == letter),
            "safe_levels": _mask(pin.bit for pin in high if pin.port == letter),
            "labels": ", ".join(pin.name for pin, _ in driven if pin.port == letter) or "none",
        }
        for letter in sorted({pin.port for pin in [*(pin for pin, _ in driven), *pulled_up]})
    ]


def _sensors(plan: Plan, board: Board) -> dict[str, list[dict[str, Any]]]:
    analogue, digital = [], []
    for index, sensor in enumerate(plan.sensors):
        about = {"index": index, "label": sensor.pin, "code": sensor.code}
        pin = board.pin(sensor.pin)
        if isinstance(sensor, AnalogueSensor):
            if pin is None or pin.analogue is None:
                raise ValueError(f"{board.name} cannot measure at {sensor.pin}")
            analogue.append({**about, "channel": pin.analogue})
        else:
            place = _pin(board, sensor.pin)
            digital.append({**about, "letter": place.port, "pin": _mask([place.bit])})
    return {"analogue_sensors": analogue, "digital_sensors": digital}


def _inputs(plan: Plan, board: Board) -> list[dict[str, Any]]:
    """Each pin-change group that listens to the receiver. Its port is read as one byte, so all its
    pins are on one port."""
    groups: dict[int, list[tuple[Pin, int]]] = {}
    for index, one in enumerate(plan.inputs):
        pin = _pin(board, one.pin)
        if pin.change_group is None or pin.change_bit is None:
            raise ValueError(f"{one.pin} has no pin-change interrupt")
        groups.setdefault(pin.change_group, []).append((pin, index))
    if not groups:
        raise ValueError("a ship without a channel hears nothing")
    sum_pin = plan.inputs[-1].pin if plan.sum_signal is not None else ""
    falling = plan.sum_signal is not None and plan.sum_signal.falling
    made = []
    for group, pins in sorted(groups.items()):
        port = _input(group, sorted(pins, key=_bit))
        sum_mask = _mask(pin.bit for pin, _ in pins if pin.name == sum_pin)
        made.append({**port, "sum": sum_mask, "falls": sum_mask if falling else _mask([])})
    return made


def _bit(pin_and_input: tuple[Pin, int]) -> int:
    return pin_and_input[0].bit


def _input(group: int, pins: list[tuple[Pin, int]]) -> dict[str, Any]:
    ports = {pin.port for pin, _ in pins}
    if len(ports) != 1:
        raise ValueError(f"pin-change group {group} is spread over ports {sorted(ports)}")
    places = {pin.bit: str(index) for pin, index in pins}
    return {
        "group": group,
        "register": f"PIN{ports.pop()}",
        "pins": _mask(places),
        "mask": _mask(pin.change_bit for pin, _ in pins if pin.change_bit is not None),
        "places": [places.get(bit, _NO_INPUT) for bit in range(8)],
        "labels": ", ".join(pin.name for pin, _ in pins),
    }


def _line_ports(plan: Plan, board: Board) -> list[dict[str, Any]]:
    placed = [
        (index, line, _pin(board, line.pin))
        for index, line in enumerate(plan.lines)
        if line.shifted is None
    ]
    ports = []
    for letter in sorted({pin.port for *_, pin in placed}):
        lines = [(index, line, pin) for index, line, pin in placed if pin.port == letter]
        ports.append(
            {
                "letter": letter,
                "pins": _mask(pin.bit for *_, pin in lines),
                "on_is_low": _mask(pin.bit for _, line, pin in lines if line.active_low),
                "lines": [
                    {
                        "byte": index // 8,
                        "bit": _mask([index % 8]),
                        "pin": _mask([pin.bit]),
                        "label": line.pin,
                        "code": line.code,
                    }
                    for index, line, pin in lines
                ],
            }
        )
    return ports


def _on_pins(plan: Plan) -> list[Line]:
    return [line for line in plan.lines if line.shifted is None]


def _registers(plan: Plan, board: Board) -> list[dict[str, Any]]:
    """Each chain of shift registers, its last register first: that is how they are filled."""
    chains = []
    for number, register in enumerate(plan.registers):
        lines = [
            (index, line, line.shifted[1])
            for index, line in enumerate(plan.lines)
            if line.shifted is not None and line.shifted[0] == number
        ]
        chains.append(
            {
                "code": register.code,
                "name": register.name,
                **{
                    role: _port_pin(board, getattr(register, role))
                    for role in ("data", "clock", "latch", "blank")
                },
                "registers": [
                    {
                        "first": eight + 1,
                        "on_is_low": _mask(
                            output % 8
                            for _, line, output in lines
                            if output // 8 * 8 == eight and line.active_low
                        ),
                        "lines": [
                            {
                                "byte": index // 8,
                                "bit": _mask([index % 8]),
                                "output": _mask([output % 8]),
                                "label": line.pin,
                                "code": line.code,
                            }
                            for index, line, output in lines
                            if output // 8 * 8 == eight
                        ],
                    }
                    for eight in range(register.outputs - 8, -1, -8)
                ],
            }
        )
    return chains


def _port_pin(board: Board, label: str) -> dict[str, str] | None:
    if not label:
        return None
    pin = _pin(board, label)
    return {"letter": pin.port, "pin": _mask([pin.bit]), "others": f"~{_mask([pin.bit])}"}


def _timers(board: Board, units: list[str]) -> list[dict[str, Any]]:
    """The time base, and each other timer that drives a servo; `OC3A` is switched on by COM3A1."""
    timers = []
    for timer in board.timers:
        outputs = [f"_BV({unit.replace('OC', 'COM')}1)" for unit in timer.compares if unit in units]
        if outputs or timer.time_base:
            timers.append({"number": timer.number, "outputs": " | ".join(outputs) or "0"})
    return timers


def _lights(plan: Plan, board: Board) -> dict[str, Any]:
    """The lights of 8-bit timers, of 16-bit ones and of none; and how their timers are started."""
    wide_timers = {timer.number for timer in board.timers}
    narrow: list[dict[str, Any]] = []
    wide: list[dict[str, Any]] = []
    software: list[dict[str, Any]] = []
    timers: dict[int, list[str]] = {}
    for index, light in enumerate(plan.lights):
        named = {"index": index, "label": light.pin, "code": light.code}
        if light.unit == SOFTWARE:
            pin = _pin(board, light.pin)
            software.append({**named, "letter": pin.port, "pin": _mask([pin.bit])})
            continue
        number = int(light.unit[2])
        timers.setdefault(number, []).append(light.unit.replace("OC", "COM"))
        row = {**named, "register": light.unit.replace("OC", "OCR")}
        (wide if number in wide_timers else narrow).append(row)
    return {
        "narrow_lights": narrow,
        "wide_lights": wide,
        "software_lights": software,
        "light_timers": [
            {
                "number": number,
                "wide": number in wide_timers,
                "outputs": " | ".join(f"_BV({unit}1) | _BV({unit}0)" for unit in sorted(units)),
            }
            for number, units in sorted(timers.items())
        ],
    }
