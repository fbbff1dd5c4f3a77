"""What must be so, in the ship's words: "davit lowering", "hoist top closed"."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import MOST_COUNTS, AnalogueSensor, StateOf

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.behaviours.base import Function
    from gen.plan import Felt, Plan

_UV_PER_10_MV = 10_000


def in_words(of: StateOf, functions: Mapping[int, Function] | tuple[Function, ...]) -> str:
    """The text that means this: "davit lowering", or the name alone."""
    function = functions[of.function]
    if of.states == tuple(range(1, len(function.states))):
        return function.name
    return f"{function.name} " + " or ".join(function.states[state] for state in of.states)


def condition_in_words(of: Felt | StateOf, plan: Plan) -> str:
    """The same for what a sensor feels: "hoist top closed", "hoist current above 2 V"."""
    if isinstance(of, StateOf):
        return in_words(of, plan.functions)
    sensor = plan.sensors[of.sensor]
    if not isinstance(sensor, AnalogueSensor):
        return f"{sensor.name} {'closed' if of.low else 'open'}"
    low, high = (_volts(count, sensor.full_scale_uv) for count in (of.low, of.high))
    if of.high >= MOST_COUNTS:
        return f"{sensor.name} above {low}"
    if of.low <= 0:
        return f"{sensor.name} below {high}"
    return f"{sensor.name} between {low} and {high}"


def _volts(count: int, full_scale_uv: int) -> str:
    """A count as a voltage, to the nearest 10 mV: that of the text that it was made from."""
    hundredths = (count * full_scale_uv // (MOST_COUNTS + 1) + _UV_PER_10_MV // 2) // _UV_PER_10_MV
    whole, rest = divmod(hundredths, 100)
    return f"{whole}.{rest:02}".rstrip("0").rstrip(".") + " V"
