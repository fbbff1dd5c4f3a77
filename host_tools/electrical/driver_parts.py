"""The driver arrays of a ship: what their outputs carry, how hot they become, and their diodes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.electrical.behind import INDUCTIVE, most_of
from host_tools.electrical.coils import (
    ARRAY_HOTTEST,
    ARRAY_OUTPUT_A,
    ARRAY_WARMS,
    array_loses_v,
    driver_array,
)
from host_tools.electrical.electrics import Finding, Part
from host_tools.electrical.figure import Figure, shown
from host_tools.electrical.found import Found, together

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from gen.behaviours import Function
    from gen.electric import DriverItem
    from gen.plan import Plan
    from gen.ship import Ship
    from host_tools.electrical.behind import Behind
    from host_tools.electrical.consumers import Consumer
    from host_tools.electrical.figure import Input
    from host_tools.electrical.reachable import Allowed
    from host_tools.electrical.tree import Tree

ARRAY_SPEC = "ULN2803A: eight outputs, 500 mA and 50 V each, with clamp diodes"


def driver_parts(
    ship: Ship,
    plan: Plan,
    lines: Iterable[Behind],
    *,
    tree: Tree,
    allowed: Allowed,
    ambient_c: Input,
) -> Found:
    """Every driver array with what is on it."""
    lines = tuple(lines)
    return together(
        _Array(item, [line for line in lines if line.driver == item.name.value], tree).found(
            plan, allowed, ambient_c
        )
        for item in ship.drivers or ()
    )


class _Array:
    """One driver array and the lines on it."""

    def __init__(self, item: DriverItem, lines: list[Behind], tree: Tree) -> None:
        self.item = item
        self.name = item.name.value
        self.lines = lines
        self.tree = tree

    def found(self, plan: Plan, allowed: Allowed, ambient_c: Input) -> Found:
        outputs = [line for line in self.lines if line.own]
        findings = [*self._overloaded(outputs), *self._clamps()]
        parts = (Part("driver array", 1, ARRAY_SPEC, (self.name,)),)
        if not outputs:
            return Found(parts=parts, findings=tuple(findings))
        made = driver_array(self.name, self._at_once(outputs, plan, allowed), ambient_c)
        if not made.bears_it:
            findings.append(
                Finding(
                    code="driver-hot",
                    is_error=True,
                    what=f"driver {show(self.name)}: with all that is on at once it burns",
                    got=made.junction.shown(),
                    expected=f"at most {ARRAY_HOTTEST.shown()}",
                    place=self.item.place,
                    clause=ARRAY_WARMS.source,
                )
            )
        most = [_carries(line, most_of, "most of its driver's output") for line in outputs]
        return Found((*most, made.heat, made.junction), parts, tuple(findings))

    def _at_once(self, outputs: list[Behind], plan: Plan, allowed: Allowed) -> list[Figure]:
        """The outputs that are on in the hottest of all moments that the rules of the plan allow;
        all of them if that cannot be searched. Motors run: held fast they are not all at once."""
        carried = [(line, _carries(line, _draws, "current of its driver")) for line in outputs]
        heat: dict[int, list[float]] = {}
        for line, carries in carried:
            index = line.own[0][1].function
            if index is None:
                continue
            states = heat.setdefault(index, [0.0] * len(plan.functions[index].states))
            for state in _states(line, plan.functions[index], plan):
                states[state] += carries.value * array_loses_v(carries.value)
        most = allowed.most(heat)
        if not most.exact:
            return [carries for _, carries in carried]
        return [
            carries
            for line, carries in carried
            if (index := line.own[0][1].function) is None
            or most.states.get(index) in _states(line, plan.functions[index], plan)
        ]

    def _overloaded(self, outputs: list[Behind]) -> Iterator[Finding]:
        """Outputs that carry too much while a motor is held fast: they have no time to cool."""
        for line in outputs:
            carries = _carries(line, most_of, "most of its driver's output")
            if carries.value > ARRAY_OUTPUT_A.value:
                yield Finding(
                    code="driver-output",
                    is_error=True,
                    what=f"output {show(line.line)}: its driver's output carries too much",
                    got=carries.shown(),
                    expected=f"at most {ARRAY_OUTPUT_A.shown()}",
                    place=line.output.place,
                    clause=ARRAY_OUTPUT_A.source,
                )

    def _clamps(self) -> Iterator[Finding]:
        """The clamp diodes lead to the array's supply: below that of a coil they would hold it on,
        and on another fuse than the coil's they hang in the air when that one has blown."""
        common = self.tree.nodes[self.item.supply.value]
        for line in self.lines:
            for supply, consumer in line.own:
                node = self.tree.nodes[supply]
                coil = line.coil is not None or consumer.kind in INDUCTIVE
                below = node.highest.value > common.highest.value
                if supply == common.name or not (below or coil):
                    continue
                what = (
                    f"output {show(line.line)}: it stays on, through the clamp diodes of its driver"
                )
                if not below:
                    what = (
                        f"output {show(line.line)}: its driver's clamp diodes are on another supply"
                        " than its coil"
                    )
                yield Finding(
                    code="clamp-supply",
                    is_error=below,
                    what=what,
                    got=f"{show(common.name)}, {shown(common.highest.value, 'V')}",
                    expected=f"{show(supply)}, {shown(node.highest.value, 'V')}",
                    place=self.item.supply.place,
                    clause="ULN2803 datasheets: the common pin goes to the coils' supply",
                )


def _carries(line: Behind, current: Callable[[Consumer], Input], what: str) -> Figure:
    given = tuple(current(consumer) for _, consumer in line.own)
    return Figure(
        line.line,
        what,
        sum(one.in_unit("A") for one in given),
        "A",
        "I = sum of what it switches",
        given,
        "Kirchhoff's current law",
    )


def _draws(consumer: Consumer) -> Input:
    return consumer.draws


def _states(line: Behind, function: Function, plan: Plan) -> frozenset[int]:
    """The states of its function in which a line is on: of a pair each way has its own."""
    names = [plan.lines[index].name for index in function.lines]
    if line.line not in names:
        return line.own[0][1].states
    bit = 1 << names.index(line.line)
    return frozenset(
        state for state in range(len(function.states)) if function.patterns[state] & bit
    )
