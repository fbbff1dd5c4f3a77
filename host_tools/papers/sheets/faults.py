"""The fault-finding sheet: a symptom, what to measure where, what it must be, and what if not."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from host_tools.electrical.electrics import Terminal
from host_tools.papers.outputs import RELAY, chain_of, servo_item, switches_of
from host_tools.papers.paths import path_to
from host_tools.papers.sheet import Cautions, Sheet
from host_tools.papers.table import Column, Look, Row, Table
from host_tools.papers.words import conditions, place_of, sentence

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.behaviours import Function
    from host_tools.papers.facts import Facts
    from host_tools.papers.outputs import Switch


class Check(NamedTuple):
    """Measure this, at the end of these wires; it must read so; if not, that."""

    measure: str
    wires: str
    must: str
    otherwise: str


def faults_sheet(facts: Facts) -> Sheet:
    """The whole ship first, then each function from its load back to the board."""
    cautions = Cautions(
        (
            "Propellers off, moving parts clear: what was dead may start while you measure.",
            "Measure voltages with the battery on, resistances with it off. One probe on 0 V, the"
            " other alone in your hand; never across a fuse holder with a wire.",
        )
    )
    whole = _table("faults-ship", "The whole ship", _whole_ship(facts))
    each = _table("faults", "Each function", _functions(facts))
    return Sheet("faults", "Fault-finding sheet", (cautions, whole, each))


def _table(name: str, title: str, found: Iterator[tuple[str, list[Check]]]) -> Table:
    rows = [
        Row(f"{symptom}/{check.measure}", (symptom, *check))
        for symptom, checks in found
        for check in checks
    ]
    return Table(
        name=name,
        title=title,
        columns=(
            Column("Symptom", 30, Look.NAME),
            Column("Measure, to 0 V unless told", 46),
            Column("Wire", 16, Look.NAME),
            Column("Must read", 26),
            Column("If not", 44),
        ),
        rows=tuple(rows),
        grouped=True,
    )


def _whole_ship(facts: Facts) -> Iterator[tuple[str, list[Check]]]:
    plan, board = facts.plan, facts.board
    supplies = [item.name.value for item in facts.ship.supplies or ()]
    dead = [
        Check(f"{name}, +", "", _voltage(facts, name), _blown(facts, "", name)) for name in supplies
    ]
    dead.append(Check("board's 5 V to GND", "", "4.75 to 5.25 V", "its supply, its regulator"))
    yield "Nothing works", dead
    pins = ", ".join(one.pin for one in plan.inputs)
    yield (
        "Nothing answers the transmitter",
        [
            Check("receiver's + at any of its plugs", "", "its own supply", "receiver's supply"),
            Check("0 V of receiver to GND of board, battery off", "", "under 1 ohm", "0 V wire"),
            Check(
                f"pins {pins}, by pinrail record or bench",
                "",
                "pulses of 1 to 2 ms",
                "transmitter, binding, plug",
            ),
            Check("plan that the board says, by pinrail identify", "", plan.plan_id, "upload anew"),
        ],
    )
    yield (
        "It starts anew by itself",
        [
            Check("board's 5 V while motors start", "", "never below 4.5 V", "supply too weak"),
            Check("cause of its last reset, by pinrail identify", "", "power", "brown-out: supply"),
        ],
    )
    yield (
        "A fuse blows at once",
        [
            Check("battery off: + behind the fuse", "", "not near 0 ohm", "short: wire or load"),
            Check("diode at the load", "", "ring at +", "turn it round"),
        ],
    )
    for index, control in facts.controls:
        here = [one.name for one in facts.functions if index in one.controls]
        pin = next(one.pin for one in plan.inputs if control.channel in one.channels)
        if len(here) > 1:
            yield (
                f"All of {control.name} does nothing",
                [
                    Check(
                        f"pin {pin} ({place_of(plan, control)}), by pinrail record",
                        facts.wires_at(board.name, pin),
                        "pulses that change with it",
                        f"plug at receiver, wire to {pin}",
                    )
                ],
            )


def _functions(facts: Facts) -> Iterator[tuple[str, list[Check]]]:
    for function in facts.functions:
        switches = [
            one for one in switches_of(facts) if one.function is not None
            and one.function.name == function.name
        ]  # fmt: skip
        for switch in switches:
            way = f", {switch.way or switch.name}" if len(switches) > 1 else ""
            symptom = f"{sentence(function.name)}{way}\ndoes nothing, or does not stop"
            yield symptom, _checks(facts, function, switch)
        for index in function.servos:
            servo = facts.plan.servos[index]
            power = servo_item(facts, servo.name).power
            supply = _voltage(facts, power.supply.value) if power is not None else "its supply"
            yield (
                f"{sentence(function.name)} does not move",
                [
                    Check(f"{servo.name}, red wire", "", supply, "supply, plug"),
                    Check(
                        f"pin {servo.pin}, mean voltage",
                        facts.wires_at(facts.board.name, servo.pin),
                        "0.2 to 0.6 V, changes a little",
                        _why_not(facts, function),
                    ),
                ],
            )


def _checks(facts: Facts, function: Function, switch: Switch) -> list[Check]:
    """From the load back to fuse and pin, then what must not be with the control at rest."""
    load = switch.loads[0] if switch.loads else None
    of = load.branch if load is not None else function.name
    supply = load.supply if load is not None else ""
    volts, fuse = _voltage(facts, supply), _blown(facts, of, supply)
    first, last = ("A", "B") if switch.pair else ("+", "-")
    ends = ", ".join(filter(None, (facts.wires_at(of, first), facts.wires_at(of, last))))
    broken = "go on below; if it reads so, the load"
    made = [Check(f"across {of} while asked for", ends, volts, broken)]
    made += _plugs(facts, Terminal(of, first), volts)
    relay = switch.kind == RELAY
    fed = Terminal(of, "+")
    if switch.pair:
        fed = Terminal(switch.name, "NO") if relay else Terminal(switch.pair, "+")
        out = Terminal(switch.name, "COM") if relay else switch.sink
        on, off = volts, "0 V"
    elif relay:
        fed, out = Terminal(switch.name, "COM"), Terminal(switch.name, "NO")
        on, off = volts, "0 V"
    else:
        out, on, off = switch.sink, "under 1.5 V", "as its supply"
    what = "contact, coil, coil's supply" if relay else "transistor or driver"
    made += [
        _at(facts, out, " while asked for", on, what),
        _at(facts, fed, "", volts, fuse),
        _at(
            facts, switch.source, " while asked for",
            "1 to 5 V, dimmed" if switch.dims else _levels(switch), _why_not(facts, function),
        ),
        _at(facts, out, ", control at rest", off, "battery off: welded or broken through; change"),
    ]  # fmt: skip
    return made


def _at(facts: Facts, at: Terminal, when: str, must: str, otherwise: str) -> Check:
    return Check(f"{at.text}{when}", facts.wires_at(at.part, at.point), must, otherwise)


def _plugs(facts: Facts, end: Terminal, volts: str) -> list[Check]:
    """Every contact of a connector on the way, the one nearest to the load first."""
    electrics = facts.electrics
    if electrics is None:
        return []
    plugs = {one.name for one in electrics.connectors}
    passed = [one for one in path_to(electrics.wires, end).parts if one.part in plugs]
    return [
        Check(
            f"{one.part} contact {one.entered} while asked for",
            facts.wires_at(one.part, one.entered),
            volts,
            "go on below; if it reads so, the contact or the cable",
        )
        for one in reversed(passed)
    ]


def _levels(switch: Switch) -> str:
    return "0 V (at rest 5 V)" if switch.active_low else "5 V (at rest 0 V)"


def _why_not(facts: Facts, function: Function) -> str:
    said = conditions(facts.plan, function)
    return f"control's channel; or barred: {said}" if said else "control's channel, pin"


def _voltage(facts: Facts, supply: str) -> str:
    items = facts.ship.supplies.items if facts.ship.supplies is not None else {}
    for name in reversed(chain_of(facts.ship, supply)):
        voltage = items[name].voltage
        if voltage is not None:
            return voltage.text
    return "its supply's voltage"


def _blown(facts: Facts, load: str, supply: str) -> str:
    fuse = facts.fuse_of(load, supply)
    return f"fuse {fuse}, wire before it" if fuse else "fuse, wire before it"
