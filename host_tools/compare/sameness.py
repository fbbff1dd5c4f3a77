"""What is the same by its meaning alone, without names, pins, order and comments.

A function's meaning is its plan with the parts that it speaks of in place of their indices. Two
functions mean the same if that is equal and all that they look at means the same: then they are,
tick by tick, the same computation. That is a proof, and takes no time.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from gen.behaviours import Dimmer, Follow, Rhythm, Sequence, Step, Winch
from gen.plan import ON_ITS_OWN, Ask, DigitalSensor, Felt, Gate, StateOf
from host_tools.compare.reach import asked_only, looked_at, reach_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from gen.behaviours import Function
    from gen.plan import Channel, Plan, Sensor
    from host_tools.compare.matching import Matching

OUTPUT_FIELDS = frozenset(
    ("drives", "pair_lines", "own_lines", "own_lights", "line_names", "names", "masks", "duties")
)
NOT_MEANT = frozenset(("name", "code", "source_line", "text", "said", "seed"))
"""What a ship does is not changed by these. `seed` is drawn from the name: a fire flickers on."""

LEFT_OUT = {
    "Winch": frozenset(
        ("first", "second", "ways", "first_limit_ticks", "second_limit_ticks", "unknown", "ends")
    ),
    "Sequence": frozenset(("legs", "waits")),
}
"""What is told in another way than as it stands."""


class Side:
    """One of the two plans, with its parts named by what both have in common."""

    def __init__(self, plan: Plan, matching: Matching, *, is_new: bool, other: Plan) -> None:
        self.plan = plan
        self.matching = matching
        self.is_new = is_new
        self.other = other

    def control(self, index: int) -> Any:
        """A control's name for both."""
        return self._known(self.matching.old_controls, index)

    def channel(self, index: int) -> Any:
        """A channel's."""
        return self._known(self.matching.old_channels, index)

    def function(self, index: int) -> Any:
        """A function's."""
        return self._known(self.matching.old_functions, index)

    def sensor(self, index: int) -> Any:
        """A sensor's."""
        return self._known(self.matching.old_sensors, index)

    def outputs(self, kind: str, index: int) -> tuple[Any, ...]:
        """Those of the "lines" or "lights" of a function: what both ships' function drives goes by
        its name, what is left is what it drove before, wired otherwise."""
        mine = getattr(self.plan.functions[index], kind)
        old = self.matching.old_functions.get(index) if self.is_new else None
        if old is None:
            return tuple(("new", one) if self.is_new else one for one in mine)
        theirs = getattr(self.other.functions[old], kind)
        turned = {new: one for one, new in self.matching.outputs[kind].items() if one in theirs}
        names: list[Any] = [turned.get(one) for one in mine]
        left = [one for one in theirs if one not in names]
        for place, name in enumerate(names):
            if name is None:
                names[place] = left.pop(0) if left else ("new", mine[place])
        return tuple(names)

    def _known(self, turned: Mapping[int, int], index: int) -> Any:
        if not self.is_new:
            return index
        return turned.get(index, ("new", index))

    @cached_property
    def states(self) -> dict[int, tuple[int, ...]]:
        """For each function the numbers of its states on the old ship."""
        made = {}
        for index, function in enumerate(self.plan.functions):
            old = self.matching.old_functions.get(index) if self.is_new else None
            own = tuple(range(len(function.states)))
            made[index] = own if old is None else states_as(self.other.functions[old], function)
        return made

    def ways(self, index: int) -> tuple[int, int]:
        """Of a winch: the places of its two ways on the old ship."""
        first, second = self.states[index][1:]
        return first - 1, second - 1

    @cached_property
    def shown_lines(self) -> dict[int, dict[int, Any]]:
        """For each function its lines by the names that both ships have for them: of a single one
        "line", of a pair the ways, of several the outputs themselves."""
        made = {}
        for index, function in enumerate(self.plan.functions):
            names: tuple[Any, ...] = self.outputs("lines", index)
            if len(names) == 1:
                names = ("line",)
            elif isinstance(function, Winch):
                names = self.ways(index)
            made[index] = dict(zip(function.lines, names, strict=True))
        return made


def states_as(old: Function, new: Function) -> tuple[int, ...]:
    """For each state of the new function which of the old one's it is: by its word, else by its
    place among those that are left."""
    if len(old.states) != len(new.states) or (isinstance(old, Step) and isinstance(new, Step)):
        return tuple(range(len(new.states)))
    places = {word: place for place, word in enumerate(old.states)}
    made: list[int | None] = [places.get(word) for word in new.states]
    left = [place for place in range(len(old.states)) if place not in made]
    return tuple(place if place is not None else left.pop(0) for place in made)


class Sameness:
    """Which functions, controls and sensors of two plans mean the same."""

    def __init__(self, old: Plan, new: Plan, matching: Matching) -> None:
        self.matching = matching
        self.old = Side(old, matching, is_new=False, other=new)
        self.new = Side(new, matching, is_new=True, other=old)

    @cached_property
    def controls(self) -> frozenset[int]:
        """Controls of the old plan that are heard as they are in the new one."""
        old, new = self.old, self.new
        return frozenset(
            i
            for i, j in self.matching.controls.items()
            if control_meaning(old.plan, i) == control_meaning(new.plan, j)
        )

    @cached_property
    def sensors(self) -> frozenset[int]:
        """Sensors of the old plan that are felt as they are in the new one."""
        return frozenset(
            i
            for i, j in self.matching.sensors.items()
            if sensor_meaning(self.old.plan.sensors[i]) == sensor_meaning(self.new.plan.sensors[j])
        )

    @cached_property
    def own(self) -> frozenset[int]:
        """Functions of the old plan that say the same, whatever others do."""
        return frozenset(
            i
            for i, j in self.matching.functions.items()
            if function_meaning(self.old, i) == function_meaning(self.new, j)
        )

    @cached_property
    def functions(self) -> frozenset[int]:
        """Functions of the old plan that do the same for ever: they say the same, and so does all
        that they look at."""
        same = {i for i in self.own if self._is_heard_alike(i) and self._are_asked_alike(i)}
        while True:
            wrong = {i for i in same if not looked_at(self.old.plan, i) <= same}
            if not wrong:
                return frozenset(same)
            same -= wrong

    def _are_asked_alike(self, index: int) -> bool:
        """Whether all that it only hears asked for anything is asked for it alike."""
        return all(
            one in self.matching.functions
            and asking(self.old, one) == asking(self.new, self.matching.functions[one])
            and self._is_heard_alike(one)
            for one in asked_only(self.old.plan, index)
        )

    def _is_heard_alike(self, index: int) -> bool:
        function = self.old.plan.functions[index]
        sensors = {one.sensor for one in function.conditions if isinstance(one, Felt)}
        if function.gate.stage is not None:
            sensors.add(self.old.plan.stages[function.gate.stage].below.sensor)
        return (
            all(control in self.controls for control in function.controls)
            and sensors <= self.sensors
            and self._is_carried_alike(index)
        )

    def _is_carried_alike(self, index: int) -> bool:
        """Whether what comes together on one channel or stick still does."""
        old, new = self.old.plan, self.new.plan
        every = reach_of(old, index).every
        reached = sorted({control for one in every for control in old.functions[one].controls})
        pairs = [(i, self.matching.controls.get(i)) for i in reached]
        if any(j is None for _, j in pairs):
            return False
        one = [(old.controls[i].channel, old.controls[i].slot) for i, _ in pairs]
        other = [(new.controls[j].channel, new.controls[j].slot) for _, j in pairs if j is not None]
        return _partition(one) == _partition(other) and _partition(
            [channel for channel, _ in one]
        ) == _partition([channel for channel, _ in other])


def _partition(of: Iterable[Any]) -> list[int]:
    known: dict[Any, int] = {}
    return [known.setdefault(one, len(known)) for one in of]


def control_meaning(plan: Plan, index: int) -> Any:
    """How a control is heard, without its name, its channel's and its slot."""
    control = plan.controls[index]
    bands = tuple((one.low_half_us, one.high_half_us) for one in control.positions)
    return (
        bands,
        control.rest,
        control.hysteresis_half_us,
        control.settle_pulses,
        control.proportional and (control.dead_band_half_us, control.ends_half_us),
        control.slot == ON_ITS_OWN,
        channel_meaning(plan, control.channel),
    )


def channel_meaning(plan: Plan, index: int) -> Any:
    """How a channel is heard."""
    one: Channel = plan.channels[index]
    carried: Any = None
    if plan.sum_signal is not None and index in plan.sum_signal.channels:
        told = plan.sum_signal
        carried = (len(told.channels), told.gap_half_us, told.valid_half_us)
    return replace(one, name="", code="", pin="", source_line=0), carried


def sensor_meaning(sensor: Sensor) -> Any:
    """How a sensor is felt. Which level of a contact is closed is wiring, and no meaning."""
    plain = replace(sensor, name="", code="", pin="", source_line=0)
    return replace(plain, active_low=False) if isinstance(plain, DigitalSensor) else plain


def function_meaning(side: Side, index: int) -> Any:
    """What a function says, with parts in place of indices."""
    function = side.plan.functions[index]
    kind = type(function).__name__
    left_out = NOT_MEANT | OUTPUT_FIELDS | LEFT_OUT.get(kind, frozenset())
    said = [
        (one.name, _meaning(side, index, one.name, getattr(function, one.name)))
        for one in fields(function)
        if one.name not in left_out
    ]
    return kind, tuple(said), _own_meaning(side, index, function)


def asking(side: Side, index: int) -> Any:
    """When a winch is asked for anything."""
    winch = side.plan.functions[index]
    assert isinstance(winch, Winch)  # noqa: S101 - nothing else only asks
    return frozenset(_meaning(side, index, "", ask) for ask in (winch.first, winch.second))


def _own_meaning(side: Side, index: int, function: Function) -> Any:
    """What some behaviours say in a way of their own."""

    def told(value: Any) -> Any:
        return _meaning(side, index, "", value)

    match function:
        case Winch():
            limits = (function.first_limit_ticks, function.second_limit_ticks)
            unknown = function.unknown or (None, None)
            rows = zip(
                (function.first, function.second), limits, unknown, function.ends, strict=True
            )
            return frozenset(
                (way, told(tuple(row))) for way, row in zip(side.ways(index), rows, strict=True)
            )
        case Step():
            lines = _by_output(side.outputs("lines", index), function.masks)
            lights = frozenset(
                (light, tuple(row[place] for row in function.duties))
                for place, light in enumerate(side.outputs("lights", index))
            )
            return lines, lights, len(function.names)
        case Sequence():
            legs = tuple(
                (
                    leg.ticks,
                    leg.aborts,
                    told(None if leg.until is None else function.waits[leg.until]),
                )
                for leg in function.legs
            )
            masks = tuple(leg.on for leg in function.legs)
            return legs, _by_output(side.outputs("lines", index), masks)
        case Follow():
            return side.plan.servos[function.drives].rest_half_us
        case Rhythm() | Dimmer():
            return None
    return None


def _by_output(outputs: tuple[Any, ...], masks: tuple[int, ...]) -> Any:
    """When each of its outputs is on."""
    return frozenset(
        (one, tuple(mask >> bit & 1 for mask in masks)) for bit, one in enumerate(outputs)
    )


def _meaning(side: Side, mine: int, name: str, value: Any) -> Any:
    match value:
        case Ask():
            return "ask", side.control(value.control), value.position
        case Felt():
            return "felt", side.sensor(value.sensor), value.low, value.high
        case StateOf():
            numbers = side.states[value.function]
            states = frozenset(numbers[state] for state in value.states)
            earlier = value.function < mine
            return "state", side.function(value.function), states, earlier
        case Gate():
            return _gate(side, mine, value)
    if name in ("control", "knob") and value is not None:
        return side.control(value)
    if is_dataclass(value) and not isinstance(value, type):
        return type(value).__name__, tuple(
            (one.name, _meaning(side, mine, one.name, getattr(value, one.name)))
            for one in fields(value)
            if one.name not in NOT_MEANT
        )
    if isinstance(value, tuple):
        return tuple(_meaning(side, mine, name, one) for one in value)
    return value


def _gate(side: Side, mine: int, gate: Gate) -> Any:
    numbers = side.states[mine]
    bars = frozenset(
        (frozenset(numbers[state] for state in bar.states), _meaning(side, mine, "", bar.of))
        for bar in gate.bars
    )
    stage = None if gate.stage is None else _meaning(side, mine, "", side.plan.stages[gate.stage])
    return (
        frozenset(_meaning(side, mine, "", one) for one in gate.only_while),
        bars,
        tuple(sorted((_meaning(side, mine, "", one) for one in gate.first), key=repr)),
        frozenset(side.function(one) for one in gate.both_is_stop),
        stage,
    )
