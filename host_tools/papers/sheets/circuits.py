"""One circuit drawing for each thing that a function switches."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.resolve.loads import loads_of
from host_tools.electrical.electrics import Terminal
from host_tools.papers.drawings.circuit import (
    At,
    Both,
    Drive,
    Hanging,
    In,
    Loop,
    Signal,
    Station,
    circuit,
    is_wide,
)
from host_tools.papers.outputs import RELAY, load_of, servo_item, switches_of
from host_tools.papers.sheet import Cautions, Figure, Figures, Sheet
from host_tools.papers.sheets.feeds import away_from, feed_of, sunk_from

if TYPE_CHECKING:
    from host_tools.papers.facts import Facts
    from host_tools.papers.outputs import Load, Switch

SYMBOLS = {
    "lamp": At.LAMP,
    "LED": At.LED,
    "motor": At.MOTOR,
    "solenoid": At.COIL,
    "heater": At.PLAIN,
    "electronics": At.PLAIN,
}
NEEDS_DIODE = frozenset({"motor", "solenoid"})


def circuits_sheet(facts: Facts) -> Sheet:
    """Every circuit, in the ship file's order of outputs; servos last."""
    loops = _loops(facts)
    narrow = tuple(_figure(key, loop) for key, loop in loops if not is_wide(loop))
    wide = tuple(_figure(key, loop) for key, loop in loops if is_wide(loop))
    note = (
        "Contacts are drawn at rest. The diode across a coil or a motor has its ring at +: the"
        " other way round it is a short circuit. A motor that turns both ways has none."
    )
    blocks = (
        Cautions(
            (
                "The fuse comes first, as near to the battery as it goes. Battery off before a wire"
                " is moved.",
            )
        ),
        Figures("circuit", "", narrow, note="" if wide else note),
        Figures("circuit", "", wide, note=note if wide else "", wide=True),
    )
    return Sheet("circuits", "Circuit drawings", blocks)


def _figure(key: str, loop: Loop) -> Figure:
    return Figure(key, loop.title, circuit(loop))


def _loops(facts: Facts) -> list[tuple[str, Loop]]:
    made: list[tuple[str, Loop]] = []
    switches = switches_of(facts)
    for switch in switches:
        if switch.function is None:
            continue
        name = switch.function.name
        if switch.pair:
            twins = [one for one in switches if one.pair == switch.pair]
            if switch is twins[0]:
                made.append((name, _both(facts, name, twins)))
            continue
        for load in switch.loads or (None,):
            title = f"{name}, by {switch.name}" if name != switch.name else name
            if load is not None and load.name != name:
                title = f"{name}: {load.name}, by {switch.name}"
            key = f"{name}/{switch.name}/{load.name if load is not None else ''}"
            made.append((key, _one(facts, title, switch, load)))
    for function in facts.functions:
        for index in function.servos:
            servo = facts.plan.servos[index]
            made.append((f"{function.name}/{servo.name}", _servo(facts, function.name, servo.name)))
    return made


def _one(facts: Facts, title: str, switch: Switch, load: Load | None) -> Loop:
    kind = load.kind if load is not None else ""
    words = [kind or "load"] + ([load.draws] if load is not None and load.draws else [])
    branch = load.branch if load is not None else ""
    feed = feed_of(facts, load.supply if load is not None else "", Terminal(branch, "+"))
    stations, drive, sink = feed.stations, None, None
    back = away_from(facts, Terminal(branch, "-"))
    if switch.kind == RELAY:
        drive = Drive(switch.pin, switch.level)
        if not any(one.kind is In.RELAY for one in stations):
            stations = (*stations, Station(In.RELAY, switch.name))
    else:
        sink = (f"{switch.pin}\n{switch.level}", switch.driver or switch.name)
        back = sunk_from(facts, switch.sink)
    hanging = Hanging(
        kind=SYMBOLS.get(kind, At.PLAIN),
        text="\n".join(words),
        diode=kind in NEEDS_DIODE,
        sink=sink,
        wire=feed.last,
        back=back.replace(", ", "\n"),
    )
    return Loop(title, feed.battery, stations, hanging, drive)


def _both(facts: Facts, name: str, twins: list[Switch]) -> Loop:
    load = twins[0].loads[0] if twins[0].loads else None
    relays = twins[0].kind == RELAY
    at = Terminal(twins[0].name, "NO") if relays else Terminal(twins[0].pair, "+")
    feed = feed_of(facts, load.supply if load is not None else "", at)
    ends = [Terminal(one.name, "COM") if relays else one.sink for one in twins]
    wires = [away_from(facts, one).partition(", ") for one in ends]
    first, second = (
        f"{one.name}: {one.pin}, {one.level}{f', by {plug}' if plug else ''}"
        for one, (_, _, plug) in zip(twins, wires, strict=True)
    )
    end = Both(
        load.draws if load is not None else "", (first, second), relays, (wires[0][0], wires[1][0])
    )
    return Loop(f"{name}, by {twins[0].pair}", feed.battery, feed.stations, end)


def _servo(facts: Facts, name: str, servo: str) -> Loop:
    power = servo_item(facts, servo).power
    loads = [load_of(name, own, item) for own, item in loads_of(facts.ship.functions.items[name])]
    supply = power.supply.value if power is not None else ""
    at, text = Terminal(servo, "+"), servo
    if loads:
        supply, at = loads[0].supply, Terminal(servo, "supply +")
        text = f"{servo}\nto {loads[0].text}"
    feed = feed_of(facts, supply, at)
    pin = next(one.pin for one in facts.plan.servos if one.name == servo)
    return Loop(f"{name}, by {servo}", feed.battery, feed.stations, Signal(text, f"pin {pin}"))
