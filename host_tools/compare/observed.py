"""What a function shows of itself: its outputs, in an order that both ships have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from gen.behaviours import Dimmer, Follow
from gen.lightness import DUTIES
from host_tools.prove.algebra import Columns

if TYPE_CHECKING:
    from host_tools.compare.sameness import Side
    from host_tools.prove.encoding.function import FunctionEncoding
    from host_tools.prove.encoding.part import Memory


def shown(side: Side, index: int, encoding: FunctionEncoding[Any], me: Memory) -> dict[Any, Any]:
    """What it shows now, by what shows it."""
    function = encoding.function
    if isinstance(function, Follow):
        return {"servo": encoding.servo_half_us(me)}
    if isinstance(function, Dimmer):
        return {"light": _duty(encoding.a, me.level)}
    names = side.shown_lines[index]
    on = encoding.lines_on(me)
    made: dict[Any, Any] = {names[line]: encoding.a.count(truth) for line, truth in on.items()}
    duties = function.level_patterns
    for place, light in enumerate(side.outputs("lights", index)):
        rows = [row[place] for row in duties or ()]
        made["light", light] = encoding.a.lookup(encoding.state(me), rows)
    return made


def _duty(a: Any, level: Any) -> Any:
    if isinstance(a, Columns):
        return np.array(DUTIES)[np.asarray(level) >> 8]
    return a.divided(level, 256)


def differ(a: Any, one: dict[Any, Any], other: dict[Any, Any]) -> Any:
    """Whether two functions show something else. What only one of them has is off on the other."""
    names = dict.fromkeys([*one, *other])
    return a.any_of(*(one.get(name, 0) != other.get(name, 0) for name in names))
