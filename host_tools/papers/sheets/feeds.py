"""What stands between the battery and a load, for its circuit drawing: as it is wired, by number,
or as the supplies are written down where nobody summed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from gen.read.kinds import AUTO, NONE
from host_tools.papers.drawings.circuit import In, Station
from host_tools.papers.outputs import chain_of
from host_tools.papers.paths import path_to

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics, Terminal
    from host_tools.papers.facts import Facts
    from host_tools.papers.paths import Passed


class Feed(NamedTuple):
    """The battery, what stands in the + wire behind it, and the number of the last wire."""

    battery: str
    stations: tuple[Station, ...]
    last: str


def feed_of(facts: Facts, supply: str, end: Terminal) -> Feed:
    """The feed of what has its + at a terminal and hangs on a supply."""
    chain = chain_of(facts.ship, supply)
    if facts.electrics is not None:
        path = path_to(facts.electrics.wires, end)
        if path.last:
            made = (_station(facts.electrics, one) for one in path.parts)
            stations = tuple(one for one in made if one is not None)
            return Feed(_battery(facts, chain), stations, path.last)
    return Feed(_battery(facts, chain), _as_written(facts, chain), "")


def away_from(facts: Facts, end: Terminal) -> str:
    """The number of the wire that leads current away from a terminal, and the contact of a
    connector to which it leads, if it does: "W44, deckhouse plug 6"."""
    electrics = facts.electrics
    if electrics is None:
        return ""
    wires = [one for one in electrics.wires if one.from_ == end and one.current is not None]
    if not wires:
        return ""
    wire = wires[0]
    plugs = {one.name for one in electrics.connectors}
    return f"{wire.number}, {wire.to.text}" if wire.to.part in plugs else wire.number


def sunk_from(facts: Facts, sink: Terminal) -> str:
    """The same for the wire that leads a load's current to the transistor that switches it."""
    if facts.electrics is None:
        return ""
    path = path_to(facts.electrics.wires, sink)
    if not path.parts:
        return path.last
    plug = path.parts[0]
    return f"{plug.wire}, {plug.part} {plug.entered}"


def _station(electrics: Electrics, passed: Passed) -> Station | None:
    """A part on the way as the drawing has it; None of a mere joint."""
    part = passed.part
    fuse = next((one for one in electrics.fuses if one.number == part), None)
    if fuse is not None:
        return Station(In.FUSE, f"{part} {fuse.rating_a:g} A", wire=passed.wire)
    if passed.entered == "COM":
        return Station(In.RELAY, part, wire=passed.wire)
    if any(one.name == part for one in electrics.connectors):
        return Station(In.PLUG, part, f"contact {passed.left}", passed.wire)
    branch = electrics.branch(part)
    if branch is not None and branch.of == "regulator":
        return Station(In.REGULATOR, part, wire=passed.wire)
    if branch is not None and branch.of == "strip":
        return Station(In.STRIP, part, wire=passed.wire)
    if part.endswith(" switch") and passed.entered == "1":
        return Station(In.HAND, part, "by hand", passed.wire)
    return None


def _battery(facts: Facts, chain: tuple[str, ...]) -> str:
    if not chain or facts.ship.supplies is None:
        return "supply"
    voltage = facts.ship.supplies.items[chain[0]].voltage
    return f"{chain[0]}\n{voltage.text}" if voltage is not None else chain[0]


def _as_written(facts: Facts, chain: tuple[str, ...]) -> tuple[Station, ...]:
    if facts.ship.supplies is None:
        return ()
    stations = []
    for name in chain:
        item = facts.ship.supplies.items[name]
        if item.fuse.value != NONE:
            stations.append(Station(In.FUSE, "fuse" if item.fuse.value == AUTO else item.fuse.text))
        if name != chain[0]:
            converts = item.voltage is not None and item.rating is not None
            stations.append(Station(In.REGULATOR if converts else In.STRIP, name))
    return tuple(stations)
