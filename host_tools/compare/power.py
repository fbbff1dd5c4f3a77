"""What is left of a ship when its power was off and comes back: what functions keep, as their
models' `kept` and `recall` have it, for many states at once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Dimmer, Rhythm, Step, Toggle, Winch
from host_tools.model.behaviours.winch import STOPPED

if TYPE_CHECKING:
    from host_tools.prove.encoding.function import FunctionEncoding
    from host_tools.prove.encoding.part import Memory


def back_again(encoding: FunctionEncoding[Any], me: Memory) -> dict[str, Any]:
    """What it remembers after power-up besides its start, by name."""
    function, a = encoding.function, encoding.a
    if not function.kept_bytes:
        return {}
    match function:
        case Toggle() | Dimmer():
            return {"on": me.on}
        case Step():
            return {"at": me.at}
        case Rhythm():
            last = len(function.phases_ticks) - 1
            return {
                "running": me.running,
                "phase": a.either(me.running, last, 0),
                "left": a.either(me.running, 1, 0),
            }
        case Winch():
            travel = function.first_limit_ticks * function.second_limit_ticks
            known = a.both(me.motor == STOPPED, me.first_room + me.second_room == travel)
            return {
                "first_room": a.either(known, me.first_room, travel),
                "second_room": a.either(known, travel - me.first_room, travel),
            }
    raise TypeError(f"nobody knows what a {function.key} keeps")
