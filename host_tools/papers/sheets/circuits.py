"""One circuit drawing for each thing that a function switches."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
from host_tools.papers.outputs import RELAY, chain_of, servo_item, switches_of
from host_tools.papers.sheet import Cautions, Figure, Figures, Sheet

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
    at = SYMBOLS.get(kind, At.PLAIN)
    words = [kind or "load"] + ([load.draws] if load is not None and load.draws else [])
    text = "\n".join(words)
    battery, stations = _feed(facts, load.supply if load is not None else "")
    diode = kind in NEEDS_DIODE
    if switch.kind == RELAY:
        drive = Drive(switch.pin, switch.level)
        stations = (*stations, Station(In.RELAY, f"{switch.name}"))
        return Loop(title, battery, stations, Hanging(at, text, diode), drive)
    sink = (f"{switch.pin}\n{switch.level}", switch.driver or switch.name)
    return Loop(title, battery, stations, Hanging(at, text, diode, sink))


def _both(facts: Facts, name: str, twins: list[Switch]) -> Loop:
    load = twins[0].loads[0] if twins[0].loads else None
    battery, stations = _feed(facts, load.supply if load is not None else "")
    first, second = (f"{one.name}: {one.pin}, {one.level}" for one in twins)
    end = Both(load.draws if load is not None else "", (first, second), twins[0].kind == RELAY)
    return Loop(f"{name}, by {twins[0].pair}", battery, stations, end)


def _servo(facts: Facts, name: str, servo: str) -> Loop:
    power = servo_item(facts, servo).power
    battery, stations = _feed(facts, power.supply.value if power is not None else "")
    pin = next(one.pin for one in facts.plan.servos if one.name == servo)
    return Loop(f"{name}, by {servo}", battery, stations, Signal(servo, f"pin {pin}"))


def _feed(facts: Facts, supply: str) -> tuple[str, tuple[Station, ...]]:
    """The battery's name and what stands between it and this supply's + wire."""
    chain = chain_of(facts.ship, supply)
    if not chain or facts.ship.supplies is None:
        return "supply", ()
    items = facts.ship.supplies.items
    stations = []
    for name in chain:
        item = items[name]
        if item.fuse is not None:
            stations.append(Station(In.FUSE, item.fuse.text if item.fuse.value else "fuse"))
        if name != chain[0]:
            converts = item.voltage is not None and item.rating is not None
            stations.append(Station(In.REGULATOR if converts else In.STRIP, name))
    first = items[chain[0]]
    voltage = f"\n{first.voltage.text}" if first.voltage is not None else ""
    return f"{chain[0]}{voltage}", tuple(stations)
