"""Resolving: Ship and Board -> Plan. Names become indices, quantities are already integers, and
whatever does not fit together is noted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.plan import Plan
from gen.resolve.bench import check_columns, resolve_bench
from gen.resolve.channels import Channels
from gen.resolve.codes import Codes
from gen.resolve.context import Context
from gen.resolve.controls import resolve_controls
from gen.resolve.currents import check_currents
from gen.resolve.doings import Doings
from gen.resolve.gates import with_gates
from gen.resolve.harness import check_harness
from gen.resolve.loads import check_loads
from gen.resolve.low_battery import LowBattery, sensed_supplies
from gen.resolve.order import function_order
from gen.resolve.outputs import Outputs, with_lines_of_registers
from gen.resolve.pins import Pins
from gen.resolve.sensors import Feeling, resolve_sensors
from gen.resolve.supplies import check_supplies

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.boards import Board
    from gen.diagnostics import Problems
    from gen.plan import Stage
    from gen.read.keys import Named
    from gen.sensors import SensorItem
    from gen.ship import Ship


def resolve(ship: Ship, board: Board, problems: Problems, source: str) -> Plan:
    """The plan of this ship on this board. Raises ShipError with everything that is wrong,
    including what was noted before. `source` is the ship file's name without its path."""
    ship = with_lines_of_registers(ship)
    codes = Codes(problems)
    pins = Pins(board, problems)
    ship_code = codes.folder(ship.ship, ship.code_name)
    receiver = Channels(ship.receiver, codes, pins, problems)
    channels, sum_signal = receiver.resolve()
    controls = resolve_controls(ship, channels, receiver.broken, codes, problems)
    items = [*(ship.sensors or ()), *sensed_supplies(ship)]
    sensor_items: dict[str, SensorItem] = {item.name.value: item for item in items}
    sensors = resolve_sensors(items, codes, pins, problems)
    broken = ship.sensors.broken if ship.sensors is not None else frozenset()
    feeling = Feeling(sensor_items, broken, sensors, problems)
    outputs = Outputs(board, codes, pins, problems).resolve(ship)
    bench = resolve_bench(ship.bench, pins)
    check_columns(ship, items, problems)
    check_currents(outputs.burdens, board, problems)
    check_supplies(ship, problems)
    check_loads(ship, problems)
    check_harness(ship, problems)
    function_codes = {
        name: codes.whole(
            item.name,
            f"function {show(name)}",
            item.code_name,
            also="_shed" if ship.low_battery is not None else "",
        )
        for name, item in ship.functions.items.items()
    }
    doings = Doings(function_order(ship, problems), ship.functions.broken, problems)
    context = Context(
        ship,
        controls,
        outputs,
        feeling=feeling,
        codes=function_codes,
        doings=doings,
        problems=problems,
    )
    for name in doings.order:
        function = ship.functions.items[name].resolve(context)
        if function is not None:
            doings.resolved[name] = function
    functions = with_gates(ship, doings, problems)
    stages: tuple[Stage, ...] = ()
    if ship.low_battery is not None:
        low_battery = LowBattery(ship.low_battery, ship, feeling, problems)
        stages, functions = low_battery.resolve(functions)
    if len(functions) == len(ship.functions) and not ship.functions.broken:
        _check_unused(ship, receiver, context, problems)
    problems.stop_on_errors()
    return Plan(
        ship=ship.ship.value,
        code=ship_code,
        board=board.name,
        channels=channels,
        controls=controls,
        lines=tuple(outputs.lines),
        pairs=tuple(outputs.pairs),
        servos=tuple(outputs.servos),
        lights=tuple(outputs.lights),
        functions=functions,
        sensors=sensors,
        registers=tuple(outputs.registers),
        stages=stages,
        source=source,
        remark=ship.remark.value if ship.remark is not None else "",
        sum_signal=sum_signal,
        bench=bench,
    )


def _check_unused(
    ship: Ship,
    receiver: Channels,
    context: Context,
    problems: Problems,
) -> None:
    """Notes what nothing uses. Only asked when every function could be read: a function that could
    not may use anything."""

    def unused(kind: str, items: Iterable[Named], used: set[str], by: str) -> None:
        for item in items:
            if item.name.value not in used:
                what = f"{kind} {show(item.name.value)}: no {by} uses it"
                problems.add("unused", item.place, what)

    read = {control.from_.value for control in ship.controls}
    if not ship.controls.broken and read <= receiver.items.keys():
        unused("channel", receiver.items.values(), read, "control")
    unused("control", ship.controls, context.used_controls, "function")
    unused("sensor", ship.sensors or (), context.used_sensors, "function")
    unused("output", ship.outputs, context.used_outputs, "function")
