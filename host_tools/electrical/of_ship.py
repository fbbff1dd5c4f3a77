"""All electrical sums of a ship: from its file and its plan to the records of `electrics`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.resolve.outputs import burdens_of, with_lines_of_registers
from host_tools.electrical.batteries import endurance_of
from host_tools.electrical.circuits import circuits_of
from host_tools.electrical.connectors import plugs_of
from host_tools.electrical.consumers import feeds_of
from host_tools.electrical.currents import Summing
from host_tools.electrical.electrics import Branch, Connector, Contact, Electrics
from host_tools.electrical.findings import Findings
from host_tools.electrical.found import together
from host_tools.electrical.parts import parts_of
from host_tools.electrical.pins import pin_rows
from host_tools.electrical.protecting import Protecting
from host_tools.electrical.reachable import Allowed
from host_tools.electrical.regulating import regulator_figures
from host_tools.electrical.rules import wire_rules
from host_tools.electrical.sizing import Sizing
from host_tools.electrical.small_parts import small_parts
from host_tools.electrical.tree import Tree
from host_tools.electrical.winches import winches
from host_tools.electrical.wiring import Wiring

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from gen.boards import Board
    from gen.plan import Plan
    from gen.ship import Ship
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.connectors import Plug
    from host_tools.electrical.figure import Figure
    from host_tools.electrical.typical import Typical
    from host_tools.record import Record

CONTACT_CLAUSE = "the relay's or transistor's datasheet"


@dataclass(frozen=True)
class Summed:
    """The sums with what they were made from, for whoever adds to them."""

    ship: Ship
    plan: Plan
    tree: Tree
    circuits: tuple[Circuit, ...]
    plugs: tuple[Plug, ...]
    protecting: Protecting
    sizing: Sizing
    electrics: Electrics


@dataclass(frozen=True)
class Run:
    """What typical currents are taken from: a record of this plan, and the words for it."""

    record: Record
    source: str


def electrics_of(ship: Ship, plan: Plan, board: Board, run: Run | None = None) -> Electrics:
    """All electrical sums of a ship, with typical currents and endurance if there is a run."""
    return sum_up(ship, plan, board, run).electrics


def sum_up(ship: Ship, plan: Plan, board: Board, run: Run | None = None) -> Summed:
    """The same, with what it was made from."""
    ship = with_lines_of_registers(ship)
    source = plan.source
    findings = Findings()
    burdens = burdens_of(ship, board)
    tree = Tree(ship, feeds_of(ship, plan, burdens), source)
    rules = wire_rules(ship, source)
    summing = Summing(plan, Allowed(plan))
    circuits = circuits_of(tree, ship, rules, summing)
    plugs = plugs_of(ship, circuits, source, summing, findings)
    protecting = Protecting(circuits, plugs, rules, plan, findings)
    sizing = Sizing(circuits, plugs, rules, protecting, findings)
    wiring = Wiring(
        ship, plan, circuits=circuits, plugs=plugs, protecting=protecting, sizing=sizing
    )
    small = together(
        (
            winches(ship, source),
            small_parts(
                ship,
                plan,
                feeds=tree.feeds,
                tree=tree,
                allowed=summing.allowed,
                ambient_c=rules.temperature,
            ),
        )
    )
    findings.found += small.findings
    _check_contacts(circuits, findings)
    typical = _typical(tree, circuits, plan, run)
    branches = tuple(
        _branches(
            circuits,
            summing,
            tree=tree,
            protecting=protecting,
            sizing=sizing,
            typical=typical.means if typical is not None else {},
            findings=findings,
        )
    )
    batteries = endurance_of(
        tree,
        {branch.name: branch.worst for branch in branches},
        rules,
        profiles=typical.profiles if typical is not None else {},
        source=run.source if run is not None else "",
        findings=findings,
    )
    heat = regulator_figures(tree, branches, rules, findings)
    fuses = protecting.fuses()
    connectors = tuple(_connector(plug, wiring) for plug in plugs)
    electrics = Electrics(
        branches=branches,
        fuses=fuses,
        wires=wiring.wires(),
        connectors=connectors,
        batteries=batteries,
        winches=small.winches,
        pins=pin_rows(burdens, board, source),
        parts=(*parts_of(ship, wiring.wires(), fuses, connectors), *small.parts),
        findings=findings.ordered(),
        figures=(*heat, *small.figures),
        missing=tuple(_missing(ship, circuits, plugs)),
        run=f"{run.source}, {typical.lasted}" if run is not None and typical is not None else "",
    )
    return Summed(ship, plan, tree, circuits, plugs, protecting, sizing, electrics)


def _typical(
    tree: Tree, circuits: tuple[Circuit, ...], plan: Plan, run: Run | None
) -> Typical | None:
    if run is None or not run.record.ticks:
        return None
    from host_tools.electrical.typical import typical_of  # noqa: PLC0415 - it needs numpy

    return typical_of(tree, circuits, plan, run.record, run.source)


def _branches(
    circuits: tuple[Circuit, ...],
    summing: Summing,
    *,
    tree: Tree,
    protecting: Protecting,
    sizing: Sizing,
    typical: Mapping[str, Figure],
    findings: Findings,
) -> Iterator[Branch]:
    for circuit in circuits:
        currents, taken = circuit.currents, circuit.currents.worst
        sized = sizing.of(circuit)
        node = circuit.to
        if node is not None and node.efficiency is not None:
            currents = summing.of(node.name, list(tree.shares(node)))
            _check_rating(circuit, currents.worst, findings)
        yield Branch(
            name=circuit.name,
            parent=circuit.node.name if circuit.node is not node else "",
            of=node.kind if node is not None else "load",
            voltage_v=(node or circuit.node).volts.value,
            plain=currents.plain,
            worst=currents.worst,
            taken=taken,
            typical=typical.get(circuit.name),
            surge=currents.surge,
            stalls=currents.stalls,
            fuse=protecting.fuse_of(circuit),
            wire=sized.run.size.name if circuit.is_wired else "",
            bears=sized.run.ampacity,
            drop=sized.drop,
            drop_share=sized.share,
            place=circuit.place,
        )


def _check_rating(circuit: Circuit, worst: Figure, findings: Findings) -> None:
    rating = circuit.to.item.rating if circuit.to is not None else None
    if rating is not None and worst.value > float(rating.value) / 1000 + 1e-9:
        findings.unsafe(
            "regulator-overloaded",
            rating.place,
            f"supply {show(circuit.name)}: it would have to give more than it can",
            got=worst.shown(),
            expected=f"at most {rating.text}",
            clause="the regulator's datasheet",
        )


def _check_contacts(circuits: tuple[Circuit, ...], findings: Findings) -> None:
    """What relays and transistors switch."""
    for circuit in circuits:
        for contact in circuit.contacts:
            worst, stalls = circuit.currents.worst, circuit.currents.stalls
            if worst.value > contact.value:
                findings.unsafe(
                    "relay-overloaded",
                    circuit.place,
                    f"{show(circuit.name)}: it is switched by the {contact.name}, which bears less",
                    got=worst.shown(),
                    expected=f"at most {contact.shown()}",
                    clause=CONTACT_CLAUSE,
                )
            elif stalls is not None and stalls.value > contact.value:
                findings.unwise(
                    "relay-stalled",
                    circuit.place,
                    f"{show(circuit.name)}: held fast it draws more than the {contact.name} bears",
                    got=stalls.shown(),
                    expected=f"at most {contact.shown()}",
                    clause=CONTACT_CLAUSE,
                )


def _connector(plug: Plug, wiring: Wiring) -> Connector:
    def contact(number: int) -> Contact:
        wire = wiring.contact_wires.get((plug.name, number), "")
        lead = plug.leads.get(number)
        if lead is not None:
            return Contact(number, lead.text, wire, plug.currents[number])
        if number in plug.returns:
            return Contact(number, "return", wire, plug.each)
        return Contact(number, "spare" if number in plug.kept else "free", "", None)

    count = plug.item.contacts.value
    return Connector(
        name=plug.name,
        contacts=tuple(contact(number) for number in range(1, count + 1)),
        returns=plug.returns,
        spares=tuple(sorted((*plug.kept, *plug.free))),
        rating_a=float(plug.item.rating.value) / 1000,
        allowed_a=plug.allowed,
        returned=plug.returned,
        place=plug.item.place,
    )


def _missing(ship: Ship, circuits: tuple[Circuit, ...], plugs: tuple[Plug, ...]) -> Iterator[str]:
    """What the ship file would have to say for more to be summed, a sentence each."""
    if not ship.supplies:
        yield "there are no supplies: add 'supplies:', and a 'load:' to each function"
        return
    without = [
        keys.name.value
        for keys in ship.functions
        if keys.load is None
        and keys.loads is None
        and not any(getattr(ship.outputs.items.get(d.value), "power", None) for d in keys.driven())
    ]
    if without:
        yield f"nothing is known of what these draw: {_listed(without)}"
    if ship.board_supply is None:
        yield "'board supply:' does not say what feeds the board"
    relays = [
        item.name.value
        for item in ship.outputs
        if getattr(getattr(item, "kind", None), "value", "") == "relay"
        and getattr(item, "coil", None) is None
    ]
    if relays:
        yield f"nothing is known of the coils of these relays: {_listed(relays)}"
    lengths = [
        circuit.name
        for circuit in circuits
        if circuit.length is None
        and (circuit.feed is None or circuit.feed.kind in ("load", "always"))
        and circuit.to is not circuit.node
    ]
    lengths += [plug.name for plug in plugs if plug.length is None]
    if lengths:
        yield f"no voltage drop without a 'length:' of {_listed(lengths)}"
    for battery in ship.supplies:
        if battery.from_ is None and (battery.capacity is None or battery.chemistry is None):
            name = show(battery.name.value)
            yield f"{name} tells no 'capacity' or 'chemistry', so nobody can say how long it lasts"


def _listed(names: list[str], most: int = 6) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
