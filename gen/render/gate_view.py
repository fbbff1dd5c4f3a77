"""Conditions between functions, as the sketch has them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours.base import seconds
from gen.behaviours.conditions import in_words
from gen.plan import Felt

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.behaviours import Function
    from gen.plan import Plan, StateOf


def asked_first(plan: Plan) -> list[dict[str, Any]]:
    """The functions whose asking stops others."""
    return [
        {
            "code": function.code,
            "type": function.type_name,
            "told": told(plan, function),
            "call": f"ask({', '.join([*_itself(function), *_forced(plan, index)])})",
        }
        for index, function in enumerate(plan.functions)
        if function.gate.both_is_stop
    ]


def told(plan: Plan, function: Function) -> str:
    """The statement that tells a function which of its conditions are so; "" if it has none."""
    so = [
        felt(plan, one) if isinstance(one, Felt) else is_so(plan, one)
        for one in function.conditions
    ]
    if not so:
        return ""
    told = so[0]
    if len(so) > 1:
        bits = " | ".join(f"({one} ? {1 << bit}u : 0u)" for bit, one in enumerate(so))
        told = f"static_cast<uint16_t>({bits})"
    return f"ship_state.{function.code}.so = {told}"


def felt(plan: Plan, felt: Felt) -> str:
    """The C++ condition that a sensor is so."""
    return f"sensor_state.{plan.sensors[felt.sensor].code}.felt({felt.low}, {felt.high})"


def waits_of(function: Function) -> list[str]:
    """The names of what remembers how long its conditions have held."""
    timed = [index for index, first in enumerate(function.gate.first) if first.for_ticks]
    return [f"{function.code}_since_{number}" for number, _ in enumerate(timed, 1)]


def run_call(plan: Plan, index: int) -> str:
    """The call that runs a function, with all that bars it."""
    function = plan.functions[index]
    arguments = _itself(function)
    name = "run"
    forced = _forced(plan, index)
    if function.gate.both_is_stop:
        name = "run_asked"
        arguments.append(f"{function.code}_wants")
    arguments.append("outputs")
    barred = "\n      | ".join(_barred_by(plan, function))
    if barred:
        barred = f",\n      {barred}"
    elif forced:
        barred = ", Gate::NOTHING"
    return f"{name}({', '.join(arguments)}{barred}{''.join(f', {one}' for one in forced)})"


def _itself(function: Function) -> list[str]:
    """A function and its memory."""
    return [function.code, f"ship_state.{function.code}"]


def _forced(plan: Plan, index: int) -> list[str]:
    """What the bench forces a function into; nothing if there is no bench."""
    return [f"force_state.to({index})"] if plan.bench is not None else []


def _barred_by(plan: Plan, function: Function) -> Iterator[str]:
    gate = function.gate
    for of in gate.only_while:
        yield f"Gate::unless({is_so(plan, of)})"
    for bar in gate.bars:
        states = sum(1 << state for state in bar.states)
        yield f"Gate::bar({states}, {is_so(plan, bar.of)})"
    waits = iter(waits_of(function))
    for first in gate.first:
        so = is_so(plan, first.of)
        if first.for_ticks:
            so = f"ship_state.{next(waits)}.held({so}, {first.for_ticks})"
        yield f"Gate::unless({so} || {_state(function)} != 0)"
    if gate.stage is not None:
        rests = [
            f"radio_state.{plan.controls[index].code}.held_at({plan.controls[index].rest})"
            for index in function.controls
        ]
        at_rest = " && ".join(rests) or "true"
        low = f"stages[{gate.stage}].low()"
        yield f"Gate::unless(!ship_state.{function.code}_shed.held({low}, {at_rest}))"
    for other in gate.both_is_stop:
        yield f"Gate::unless({plan.functions[other].code}_wants.state == 0)"


def is_so(plan: Plan, of: StateOf) -> str:
    """The C++ condition that a function is in one of these states."""
    function = plan.functions[of.function]
    state = _state(function)
    if of.states == tuple(range(1, len(function.states))):
        return f"{state} != 0"
    return " || ".join(f"{state} == {one}" for one in of.states)


def _state(function: Function) -> str:
    return f"{function.code}.state(ship_state.{function.code})"


def gate_remark(plan: Plan, function: Function) -> str:
    """The same in the ship's words, for the comment behind its row."""
    gate, functions = function.gate, plan.functions
    words = [f"only while {in_words(of, functions)}" for of in gate.only_while]
    for bar in gate.bars:
        whole = bar.states == tuple(range(1, len(function.states)))
        mine = "" if whole else " or ".join(function.states[state] for state in bar.states) + " "
        words.append(f"{mine}never with {in_words(bar.of, functions)}")
    for first in gate.first:
        wait = f" for {seconds(first.for_ticks)}" if first.for_ticks else ""
        words.append(f"first {in_words(first.of, functions)}{wait}")
    if gate.both_is_stop:
        others = ", ".join(functions[other].name for other in gate.both_is_stop)
        words.append(f"stops with {others} when both are asked for")
    return "; ".join(words)
