"""The plan in the ship's own words, as several sheets say it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import ON_ITS_OWN
from gen.render.gate_view import gate_remark

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.behaviours.base import Answer
    from gen.plan import Control, Line, Plan


@dataclass(frozen=True)
class Driven:
    """One output that a function drives: its name, its pin in words, and what is on the pin."""

    name: str
    pin: str
    level: str


def asked(plan: Plan, answer: Answer) -> str:
    """A position of a control, or a control that is turned: "mast key up", "wheel"."""
    control = plan.controls[answer.control]
    if answer.position is None:
        return control.name
    return f"{control.name} {control.positions[answer.position].name}"


def asked_by(plan: Plan, function: Function) -> str:
    """Everything that asks for a function, a line each."""
    lines = [f"{asked(plan, one)}: {one.does}" for one in function.answers]
    return "\n".join(lines) or "by itself"


def conditions(plan: Plan, function: Function) -> str:
    """What other functions and the battery have to say; "" if nothing."""
    stage = "off while the battery is low" if function.gate.stage is not None else ""
    return "; ".join(filter(None, (gate_remark(plan, function), stage)))


def place_of(plan: Plan, control: Control) -> str:
    """Where a control comes from: "deck keys, slot 2"."""
    channel = plan.channels[control.channel].name
    return channel if control.slot == ON_ITS_OWN else f"{channel}, slot {control.slot}"


def pin_of(line: Line) -> str:
    """The pin of a line, or the shift register's output: "pin D5", "shelf 3"."""
    return line.pin if line.shifted is not None else f"pin {line.pin}"


def driven(plan: Plan, function: Function) -> tuple[Driven, ...]:
    """The outputs of a function."""
    made = [
        Driven(line.name, pin_of(line), f"on is {'0 V' if line.active_low else '5 V'}")
        for line in (plan.lines[index] for index in function.lines)
    ]
    made += [
        Driven(light.name, f"pin {light.pin}", "dimmed")
        for light in (plan.lights[index] for index in function.lights)
    ]
    made += [
        Driven(servo.name, f"pin {servo.pin}", "servo pulses")
        for servo in (plan.servos[index] for index in function.servos)
    ]
    return tuple(made)


def sentence(text: str) -> str:
    """A text with a capital letter; names keep theirs."""
    return text[:1].upper() + text[1:]
