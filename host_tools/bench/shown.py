"""What a function is doing, told from what its board drives."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.states import SERVO_NEAR_HALF_US

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from gen.behaviours import Function
    from gen.plan import Plan


def shown_state(
    plan: Plan,
    function: Function,
    modelled: int,
    *,
    lines: int,
    servos_half_us: Sequence[int],
    levels: Sequence[int],
) -> int:
    """The state in which a function's outputs are as they are: that of the model if it is one of
    them, else the first, else one past them all."""
    if not (function.lines or function.lights):
        rests = [plan.servos[one].rest_half_us for one in function.servos]
        told = [servos_half_us[one] for one in function.servos]
        away = [abs(now - rest) for now, rest in zip(told, rests, strict=True)]
        return int(max(away, default=0) > SERVO_NEAR_HALF_US)
    driven = sum([1 << bit for bit, line in enumerate(function.lines) if lines >> line & 1])
    lit = tuple(levels[light] for light in function.lights)
    states: list[int] = [modelled, *range(len(function.states))]
    for state in states:
        if _looks(function, state, driven, lit):
            return state
    return len(function.states)


def _looks(function: Function, state: int, driven: int, lit: tuple[int, ...]) -> bool:
    if function.lines and function.patterns[state] != driven:
        return False
    if not function.lights:
        return True
    duties = function.level_patterns
    if duties is None:
        return all((level != 0) == (state != 0) for level in lit)
    return duties[state] == lit


def merged(told: Mapping[int, int], model: Sequence[int]) -> tuple[int, ...]:
    """What was told, and what the model has where nothing was told yet."""
    return tuple(told.get(index, value) for index, value in enumerate(model))
