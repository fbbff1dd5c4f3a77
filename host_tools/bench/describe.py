"""A ship as the page gets it: one JSON object with all that does not change while it runs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.plan import MOST_COUNTS, TICK_MS, DigitalSensor
from gen.read.steps import CutPower
from gen.render.gate_view import gate_remark
from host_tools.bench.currents import MA_PER_A
from host_tools.bench.news import as_shown
from host_tools.papers.words import pin_of
from host_tools.sensing import rest_reading

if TYPE_CHECKING:
    from collections.abc import Collection

    from gen.behaviours import Function
    from gen.plan import Control, Light, Line, Plan, Servo
    from gen.ship import Ship
    from host_tools.bench.currents import Currents, Supply
    from host_tools.opened import OpenedShip

FORMAT = 1

SPRUNG = ("key", "stick")
"""The kinds of control that spring back when they are let go (common practice, no source)."""

CAUTIONS = (
    "What is worked from here moves, with or without a transmitter. Propellers off or couplings "
    "apart, loads unhooked, fingers, hair and cables clear.",
    "Have a switch within reach that takes away the power. Never force what you do not see.",
    "Local codes and licensed practice come first.",
)

Json = dict[str, Any]


def described(opened: OpenedShip, currents: Currents, may_stall: Collection[int]) -> Json:
    """The whole description. Lists are in the plan's order, for the stream counts by it."""
    plan = opened.plan
    return {
        "t": "ship",
        "format": FORMAT,
        "ship": plan.ship,
        "file": opened.path.name,
        "plan": plan.plan_id,
        "board": plan.board,
        "tick_ms": TICK_MS,
        "channels": _channels(plan),
        "controls": [_control(plan, opened.ship, one) for one in plan.controls],
        "functions": [
            _function(plan, one, index in may_stall) for index, one in enumerate(plan.functions)
        ],
        "outputs": _outputs(plan),
        "sensors": _sensors(plan),
        "supplies": [_supply(one) for one in currents.supplies],
        "no_currents": currents.missing,
        "rules": [rule.text for rule in opened.rules],
        "trials": [
            {
                "name": trial.name,
                "steps": [step.text for step in trial.steps],
                "cuts_power": any(isinstance(step, CutPower) for step in trial.steps),
                "line": trial.source_line,
            }
            for trial in opened.trials
        ],
        "warnings": [str(one) for one in opened.warnings],
        "cautions": list(CAUTIONS),
    }


def _channels(plan: Plan) -> list[Json]:
    in_sum = plan.sum_signal.channels if plan.sum_signal is not None else ()
    return [
        {
            "name": channel.name,
            "pin": channel.pin,
            "sum": index in in_sum,
            "slots": channel.sharing.slots if channel.sharing is not None else 0,
            "marker_half_us": channel.sharing.marker_half_us if channel.sharing else None,
            "valid_half_us": channel.valid_half_us,
            "lost_below_half_us": channel.lost_below_half_us,
            "lost_above_half_us": channel.lost_above_half_us,
            "lost_after_ticks": channel.lost_after_ticks,
            "line": channel.source_line,
            "controls": [place for place, one in enumerate(plan.controls) if one.channel == index],
        }
        for index, channel in enumerate(plan.channels)
    ]


def _control(plan: Plan, ship: Ship, control: Control) -> Json:
    low, high = plan.channels[control.channel].valid_half_us
    item = ship.controls.items[control.name]
    return {
        "name": control.name,
        "kind": control.kind,
        "channel": control.channel,
        "slot": control.slot,
        "positions": [
            {
                "name": one.name,
                "low_half_us": max(one.low_half_us, low),
                "high_half_us": min(one.high_half_us, high),
            }
            for one in control.positions
        ],
        "rest": control.rest,
        "sprung": control.kind in SPRUNG,
        "proportional": control.proportional,
        "ends_half_us": control.ends_half_us,
        "colour": item.colour.value if item.colour is not None else "",
        "line": control.source_line,
    }


def _function(plan: Plan, function: Function, may_stall: bool) -> Json:
    return {
        "name": function.name,
        "behaviour": function.key,
        "states": function.states,
        "forces": function.forces,
        "controls": function.controls,
        "answers": [
            {"control": one.control, "position": one.position, "does": one.does}
            for one in function.answers
        ],
        "lines": function.lines,
        "servos": function.servos,
        "lights": function.lights,
        "limits": function.limits_in_words(plan),
        "loss": function.loss_in_words,
        "gate": gate_remark(plan, function),
        "moves": function.moves,
        "caution": caution_of(function),
        "may_stall": may_stall,
        "line": function.source_line,
    }


def caution_of(function: Function) -> str:
    """What to say before a function is forced; "" where it can do no harm."""
    if not function.moves:
        return ""
    return (
        f"{function.name} pinches, pulls or cuts. Hands, hair and cables clear, couplings apart, "
        "the main switch in reach. Never force what you do not see."
    )


def _outputs(plan: Plan) -> list[Json]:
    def driver(kind: str, index: int) -> int | None:
        return next(
            (at for at, one in enumerate(plan.functions) if index in getattr(one, kind)), None
        )

    def output(kind: str, index: int, one: Line | Servo | Light, **more: object) -> Json:
        return {
            "kind": kind,
            "index": index,
            "name": one.name,
            "pin": f"pin {one.pin}",
            "function": driver(f"{kind}s", index),
            "range_half_us": None,
            "rest_half_us": None,
            "active_low": False,
            "line": one.source_line,
            **more,
        }

    return [
        *(
            output("line", index, line, pin=pin_of(line), active_low=line.active_low)
            for index, line in enumerate(plan.lines)
        ),
        *(
            output(
                "servo",
                index,
                servo,
                range_half_us=servo.range_half_us,
                rest_half_us=servo.rest_half_us,
            )
            for index, servo in enumerate(plan.servos)
        ),
        *(output("light", index, light) for index, light in enumerate(plan.lights)),
    ]


def _sensors(plan: Plan) -> list[Json]:
    made = []
    for index, sensor in enumerate(plan.sensors):
        contact = isinstance(sensor, DigitalSensor)
        full_uv = 0 if isinstance(sensor, DigitalSensor) else sensor.full_scale_uv
        made.append(
            {
                "name": sensor.name,
                "kind": "contact" if contact else "voltage",
                "pin": sensor.pin,
                "most": 1 if contact else MOST_COUNTS,
                "most_mv": full_uv * MOST_COUNTS // (MOST_COUNTS + 1) // 1000,
                "rest": as_shown(sensor, rest_reading(plan, index)),
                "line": sensor.source_line,
            }
        )
    return made


def _supply(supply: Supply) -> Json:
    branch = supply.branch
    return {
        "name": branch.name,
        "parent": branch.parent,
        "of": branch.of,
        "voltage_v": branch.voltage_v,
        "worst_ma": round(branch.worst.value * MA_PER_A),
        "plain_ma": round(branch.plain.value * MA_PER_A),
        "line": branch.place.line,
        "fuse_ma": round(supply.fuse_a * MA_PER_A) if supply.fuse_a is not None else None,
    }
