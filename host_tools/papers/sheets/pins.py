"""The board's pins: a map to wire by, and the same as a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import DigitalSensor
from host_tools.papers.drawings.pin_map import PinUse, pin_map
from host_tools.papers.sheet import Cautions, Figures, Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.papers.facts import Facts


def pins_sheet(facts: Facts) -> Sheet:
    """Every pin that the ship uses, on the board and in a list."""
    board = facts.board
    uses = pin_uses(facts.plan)
    shown = dict(uses)
    for label, pin in board.pins.items():
        if pin.reserved and label not in shown:
            shown[label] = PinUse("keep free: USB", outward=False, is_used=False)
    order = {pin: number for number, pin in enumerate(_in_order(facts))}
    table = Table(
        name="pins",
        title="",
        columns=(
            Column("Pin", 8, Look.NAME),
            Column("Chip", 8),
            Column("Way", 8),
            Column("Goes to", 60),
        ),
        rows=tuple(
            Row(
                key=label,
                cells=(
                    label,
                    f"P{board.pins[label].port}{board.pins[label].bit}"
                    if board.pins[label].digital
                    else f"ADC{board.pins[label].analogue}",
                    "out" if use.outward else "in",
                    use.text,
                ),
            )
            for label, use in sorted(uses.items(), key=lambda one: order[one[0]])
        ),
        printed=False,
    )
    figures = Figures(
        name="pins",
        title="",
        figures=pin_map(board, shown),
        note="Seen from above with the USB plug up. Compare with the print on your board before you"
        " solder: makers differ. A filled pin is used; an arrow shows which way it speaks.",
        wide=True,
    )
    cautions = Cautions(
        (
            f"A pin carries {board.limits.pin_guaranteed_ma} mA; it switches relay inputs and"
            " gates, never a lamp or a motor. It dies of more than 5 V.",
            "Everything that exchanges a signal with the board shares its 0 V: receiver, relay"
            " boards, servos, supplies.",
        )
    )
    return Sheet("pins", "Board pin map", (cautions, figures, table))


def _in_order(facts: Facts) -> list[str]:
    """The pins as they lie on the board, each once; then any that no header has."""
    seen = [pin for header in facts.board.headers for pin in header.pins]
    return list(dict.fromkeys([*seen, *facts.board.pins]))


def pin_uses(plan: Plan) -> dict[str, PinUse]:
    """What each pin is for, in words."""
    of_line = {line: function.name for function in plan.functions for line in function.lines}
    of_light = {light: function.name for function in plan.functions for light in function.lights}
    of_servo = {servo: function.name for function in plan.functions for servo in function.servos}
    made: dict[str, PinUse] = {}
    for one in plan.inputs:
        what = "sum signal of the receiver" if one.is_sum else f"receiver: {one.name}"
        made[one.pin] = PinUse(what, outward=False)
    for sensor in plan.sensors:
        what = f"sensor {sensor.name}"
        if isinstance(sensor, DigitalSensor):
            what += f", closed is {'0 V' if sensor.active_low else '5 V'}"
        made[sensor.pin] = PinUse(what, outward=False)
    for index, line in enumerate(plan.lines):
        if line.shifted is None:
            level = f"on is {'0 V' if line.active_low else '5 V'}"
            made[line.pin] = _driving(line.name, of_line.get(index), level)
    for index, light in enumerate(plan.lights):
        made[light.pin] = _driving(light.name, of_light.get(index), "dimmed")
    for index, servo in enumerate(plan.servos):
        made[servo.pin] = _driving(servo.name, of_servo.get(index), "")
    for register in plan.registers:
        for role in ("data", "clock", "latch", "blank"):
            if pin := getattr(register, role):
                made[pin] = PinUse(f"{register.name}: {role}", outward=True)
    if plan.bench is not None and plan.bench.jumper:
        made[plan.bench.jumper] = PinUse("bench jumper, to 0 V", outward=False)
    return made


def _driving(name: str, function: str | None, level: str) -> PinUse:
    to = f": {function}" if function is not None and function != name else ""
    return PinUse(f"{name}{to}{f', {level}' if level else ''}", outward=True)
