"""Which part of one plan is which of another: by its name, and what has no such partner by what it
is. Two that agree in enough are one part that was renamed."""

from __future__ import annotations

from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import TYPE_CHECKING, Any, TypeVar

from gen.plan import AnalogueSensor

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from gen.behaviours import Function
    from gen.plan import Plan

T = TypeVar("T")

ENOUGH = 2.0
"""How alike two parts of different names must be to be one. A shared pin, channel or key counts 1
or more, the name's likeness up to 1: never by its name alone."""


@dataclass(frozen=True)
class Matching:
    """Indices of the new plan by those of the old one, for all that is in both."""

    channels: Mapping[int, int]
    controls: Mapping[int, int]
    sensors: Mapping[int, int]
    functions: Mapping[int, int]
    outputs: Mapping[str, Mapping[int, int]]
    """By "lines", "servos", "lights"."""
    old_controls: Mapping[int, int] = field(init=False)
    old_channels: Mapping[int, int] = field(init=False)
    old_functions: Mapping[int, int] = field(init=False)
    old_sensors: Mapping[int, int] = field(init=False)

    def __post_init__(self) -> None:
        for name in ("controls", "channels", "functions", "sensors"):
            turned = {new: old for old, new in getattr(self, name).items()}
            object.__setattr__(self, f"old_{name}", turned)


def match(old: Plan, new: Plan) -> Matching:
    """Matches two plans."""
    channels = _pairs(old.channels, new.channels, lambda i, j: _channel(old, new, i, j))
    controls = _pairs(old.controls, new.controls, lambda i, j: _control(old, new, channels, i, j))
    sensors = _pairs(old.sensors, new.sensors, lambda i, j: _pin(old.sensors[i], new.sensors[j]))
    functions = _pairs(
        old.functions, new.functions, lambda i, j: _function(old, new, controls, i, j)
    )
    outputs = {
        kind: _pairs(
            getattr(old, kind),
            getattr(new, kind),
            _Outputs(old, new, functions, kind).alike,
        )
        for kind in ("lines", "servos", "lights")
    }
    return Matching(channels, controls, sensors, functions, outputs)


def _pairs(
    old: Sequence[Any], new: Sequence[Any], alike: Callable[[int, int], float]
) -> dict[int, int]:
    """By name first, then the most alike first."""
    places = {one.name: index for index, one in enumerate(new)}
    made = {i: places[one.name] for i, one in enumerate(old) if one.name in places}
    taken = set(made.values())
    left = [i for i in range(len(old)) if i not in made]
    free = [j for j in range(len(new)) if j not in taken]
    scored = [(alike(i, j), _names(old[i].name, new[j].name), i, j) for i in left for j in free]
    for score, likeness, i, j in sorted(scored, key=lambda one: (-one[0] - one[1], one[2:])):
        if score >= 1 and score + likeness >= ENOUGH and i not in made and j not in taken:
            made[i] = j
            taken.add(j)
    return dict(sorted(made.items()))


def _names(one: str, other: str) -> float:
    return SequenceMatcher(None, one, other).ratio()


def _pin(one: Any, other: Any) -> float:
    """Sensors on one pin are one sensor, if they are of one kind."""
    if isinstance(one, AnalogueSensor) != isinstance(other, AnalogueSensor):
        return 0
    return 2.0 * bool(one.pin == other.pin)


def _channel(old: Plan, new: Plan, i: int, j: int) -> float:
    one, other = old.channels[i], new.channels[j]
    carried = {c.name for c in old.controls if c.channel == i}
    same = carried & {c.name for c in new.controls if c.channel == j}
    pin = one.pin == other.pin and not _in_sum(old, i) and not _in_sum(new, j)
    place = _in_sum(old, i) and _in_sum(new, j) and _place(old, i) == _place(new, j)
    return 2.0 * (pin or place) + 2.0 * bool(same) + 0.5 * (one.sharing == other.sharing)


def _in_sum(plan: Plan, channel: int) -> bool:
    return plan.sum_signal is not None and channel in plan.sum_signal.channels


def _place(plan: Plan, channel: int) -> int:
    assert plan.sum_signal is not None  # noqa: S101 - who calls has looked
    return plan.sum_signal.channels.index(channel)


def _control(old: Plan, new: Plan, channels: Mapping[int, int], i: int, j: int) -> float:
    one, other = old.controls[i], new.controls[j]
    where = channels.get(one.channel) == other.channel and one.slot == other.slot
    bands = [(p.low_half_us, p.high_half_us) for p in one.positions]
    same = bands == [(p.low_half_us, p.high_half_us) for p in other.positions]
    return 2.0 * where + 0.5 * same + 0.5 * (one.kind == other.kind) - 0.5


def _function(old: Plan, new: Plan, controls: Mapping[int, int], i: int, j: int) -> float:
    one, other = old.functions[i], new.functions[j]
    if type(one) is not type(other):
        return 0
    asks = {(controls.get(a.control), a.position) for a in one.answers}
    others = {(a.control, a.position) for a in other.answers}
    shared = len(asks & others) / len(asks | others) if asks | others else 1.0
    drives = set(_driven(old, one)) & set(_driven(new, other))
    return 1.5 * shared + 1.0 * bool(drives)


def _driven(plan: Plan, function: Function) -> list[str]:
    """The pins, or names, of what it drives."""
    made = []
    for kind in ("lines", "servos", "lights"):
        parts = getattr(plan, kind)
        for index in getattr(function, kind):
            made += [parts[index].name, parts[index].pin or str(parts[index].shifted)]
    return made


@dataclass(frozen=True)
class _Outputs:
    """Outputs of one kind ("lines", ...) of both plans, whose functions are matched already."""

    old: Plan
    new: Plan
    functions: Mapping[int, int]
    kind: str

    def alike(self, i: int, j: int) -> float:
        """Their place on the board, and what drives them."""
        one, other = getattr(self.old, self.kind)[i], getattr(self.new, self.kind)[j]
        place = (one.pin, getattr(one, "shifted", None))
        same = place == (other.pin, getattr(other, "shifted", None))
        drivers = [k for k, f in enumerate(self.old.functions) if i in getattr(f, self.kind)]
        driven = any(
            j in getattr(self.new.functions[self.functions[k]], self.kind)
            for k in drivers
            if k in self.functions
        )
        return 1.5 * same + 1.5 * driven
