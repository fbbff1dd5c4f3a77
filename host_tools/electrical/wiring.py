"""Every wire of a ship, numbered, from the battery to the last lamp and from the receiver to the
last gate.

All supplies share their negative. A relay feeds its load from the supply; a transistor, a dimmer
and a driver chip connect it to 0 V. A motor that turns both ways hangs between the two relays of
its pair: each connects its side to the supply while it is on, and to 0 V while it is off.
Fuses, relays and transistors sit beside the supply, a motor's controller beside the motor: wires
between them are short, and the length that the owner tells is that of the others.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.electric import LoadItem
from gen.plan import SUM_SIGNAL, DigitalSensor
from gen.resolve.harness import switched_to_ground
from gen.resolve.loads import driver_output
from gen.ship import DimmerItem, LineItem, PairItem, RegisterItem, ServoItem
from host_tools.electrical.connectors import owner_of
from host_tools.electrical.electrics import Terminal, Wire
from host_tools.electrical.figure import Figure
from host_tools.electrical.wire import one_wire

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.diagnostics import Place
    from gen.plan import Plan
    from gen.ship import Ship
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.connectors import Plug
    from host_tools.electrical.consumers import Consumer
    from host_tools.electrical.protecting import Protecting
    from host_tools.electrical.sizing import Run, Sized, Sizing
    from host_tools.electrical.tree import Node

POSITIVE, NEGATIVE, SWITCHED, ANY = "red", "black", "white", "any"
"""ISO 10133: the positive of direct current is red, its negative black (or yellow); switched wires
may be any other colour, and are told apart by their numbers."""

GROUND = "GND"


@dataclass(frozen=True)
class _Kind:
    """What wires of one circuit have in common."""

    circuit: Circuit
    sized: Sized
    fuse: str


class Wiring:
    """Lists the wires of a ship."""

    def __init__(
        self,
        ship: Ship,
        plan: Plan,
        *,
        circuits: Sequence[Circuit],
        plugs: Sequence[Plug],
        protecting: Protecting,
        sizing: Sizing,
    ) -> None:
        self.ship = ship
        self.plan = plan
        self.plugs = plugs
        self.protecting = protecting
        self.sizing = sizing
        self.nodes = {circuit.to.name: circuit.to for circuit in circuits if circuit.to}
        self.made: list[Wire] = []
        self.contact_wires: dict[tuple[str, int], str] = {}
        for circuit in circuits:
            self._circuit(circuit)
        self._drivers()
        for plug in plugs:
            self._returns(plug)
        self._signals()

    def wires(self) -> tuple[Wire, ...]:
        """All of them, in the order of their numbers."""
        return tuple(self.made)

    def _circuit(self, circuit: Circuit) -> None:
        own = self.protecting.behind(circuit).fuse
        kind = _Kind(circuit, self.sizing.of(circuit), own)
        if circuit.to is circuit.node:
            self._battery(kind)
        elif circuit.to is not None:
            start = self._fused(kind, plus(circuit.node))
            self._through(kind, start, plus_in(circuit.to), circuit.colour or POSITIVE)
            if not self._comes_back_switched(circuit):
                self._back(kind, minus_in(circuit.to))
        elif circuit.feed is not None:
            feed = {
                "load": self._load,
                "always": self._load,
                "servo": self._servo,
                "coils": self._coils,
                "board": self._board,
            }[circuit.feed.kind]
            feed(kind)

    def _battery(self, kind: _Kind) -> None:
        """From the battery's poles to where its current is shared out, if it has a fuse or a length
        of its own."""
        circuit = kind.circuit
        if not circuit.is_wired:
            return
        pole = Terminal(circuit.name, "+ pole")
        start = self._fused(kind, pole)
        self._power(kind, start, plus(circuit.node), circuit.colour or POSITIVE)
        self._power(kind, minus(circuit.node), Terminal(circuit.name, "- pole"), NEGATIVE)

    def _fused(self, kind: _Kind, start: Terminal) -> Terminal:
        """The fuse at the beginning of a circuit; where its current goes on."""
        if not self.protecting.fuse_of(kind.circuit):
            return start
        self._power(kind, start, Terminal(kind.fuse, "in"), POSITIVE, short=True)
        return Terminal(kind.fuse, "out")

    def _load(self, kind: _Kind) -> None:
        circuit = kind.circuit
        feed = circuit.feed
        assert feed is not None  # noqa: S101 - it is one of a feed
        start = self._fused(kind, plus(circuit.node))
        outputs = {name: self._output_of(name) for name in feed.outputs}
        pair = next((item for item in outputs.values() if isinstance(item, PairItem)), None)
        servo = self._servo_of(circuit)
        low = any(switched_to_ground(item) for item in outputs.values())
        if pair is not None:
            self._motor(kind, pair, start)
        elif servo is not None:
            self._controller(kind, servo, start)
        elif low:
            plus_end, minus_end = self._ends(kind)
            self._power(kind, start, plus_end, circuit.colour or POSITIVE)
            self._beyond(kind)
            for name in feed.outputs:
                self._through_back(kind, minus_end, self._drain(name), contact=name)
                self._ground(kind, name)
        else:
            plus_end, minus_end = self._ends(kind)
            for name in feed.outputs:
                self._power(kind, start, Terminal(name, "COM"), POSITIVE, short=True)
                switched = Terminal(name, "NO"), plus_end
                self._through(kind, *switched, circuit.colour or SWITCHED, contact=name)
            if not feed.outputs:
                self._through(kind, start, plus_end, circuit.colour or POSITIVE)
            self._beyond(kind)
            self._back(kind, minus_end)

    @staticmethod
    def _ends(kind: _Kind) -> tuple[Terminal, Terminal]:
        """Where a load's current enters and leaves: of several the joints at which they part."""
        feed = kind.circuit.feed
        assert feed is not None  # noqa: S101 - asked by the caller
        if len(feed.consumers) > 1:
            return Terminal(feed.name, "joint +"), Terminal(feed.name, "joint -")
        (consumer,) = feed.consumers
        own = _has_switch(consumer)
        start = Terminal(f"{consumer.name} switch", "1") if own else Terminal(consumer.name, "+")
        return start, Terminal(consumer.name, "-")

    def _beyond(self, kind: _Kind) -> None:
        """From the joints to each of several loads, from a hand switch to what it switches."""
        circuit = kind.circuit
        assert circuit.feed is not None  # noqa: S101 - asked by the caller
        several = len(circuit.feed.consumers) > 1
        colour = circuit.colour or SWITCHED
        for consumer in circuit.feed.consumers:
            name = consumer.name
            start = Terminal(name, "+")
            if _has_switch(consumer):
                by_hand = f"{name} switch"
                start = Terminal(by_hand, "1")
            if several:
                joint = Terminal(circuit.name, "joint +")
                self._power(kind, joint, start, colour, of=name)
            if _has_switch(consumer):
                end = Terminal(name, "+")
                self._power(kind, Terminal(by_hand, "2"), end, colour, of=name, short=True)
            if several:
                joint = Terminal(circuit.name, "joint -")
                self._power(kind, Terminal(name, "-"), joint, NEGATIVE, of=name)

    def _motor(self, kind: _Kind, pair: PairItem, start: Terminal) -> None:
        circuit = kind.circuit
        name = circuit.name
        ways = list(pair.ways.items)
        if pair.kind.value == "relay":
            for way, end in zip(ways, "AB", strict=True):
                relay = f"{pair.name.value} {way}"
                self._power(kind, start, Terminal(relay, "NO"), POSITIVE, short=True)
                back = Terminal(relay, "NC"), minus(circuit.node)
                self._power(kind, *back, NEGATIVE, short=True)
                self._through(
                    kind,
                    *(Terminal(relay, "COM"), Terminal(name, end)),
                    circuit.colour or SWITCHED,
                    contact=way,
                )
            return
        bridge = pair.name.value
        self._power(kind, start, Terminal(bridge, "+"), POSITIVE, short=True)
        self._power(kind, Terminal(bridge, "-"), minus(circuit.node), NEGATIVE, short=True)
        for way, end in zip(ways, "AB", strict=True):
            self._through(
                kind,
                *(Terminal(bridge, f"out {way}"), Terminal(name, end)),
                circuit.colour or SWITCHED,
                contact=way,
            )

    def _controller(self, kind: _Kind, servo: str, start: Terminal) -> None:
        """A motor controller that is driven like a servo: it sits between supply and motor."""
        name = kind.circuit.name
        self._power(kind, start, Terminal(servo, "supply +"), POSITIVE)
        self._power(kind, Terminal(servo, "supply -"), minus(kind.circuit.node), NEGATIVE)
        for end in "AB":
            colour = kind.circuit.colour or SWITCHED
            ends = Terminal(servo, f"motor {end}"), Terminal(name, end)
            self._power(kind, *ends, colour, short=True)

    def _servo(self, kind: _Kind) -> None:
        name = kind.circuit.name
        start = self._fused(kind, plus(kind.circuit.node))
        self._through(kind, start, Terminal(name, "+"), POSITIVE)
        self._back(kind, Terminal(name, "-"))

    def _coils(self, kind: _Kind) -> None:
        circuit = kind.circuit
        assert circuit.feed is not None  # noqa: S101 - it is one of a feed
        self._power(kind, plus(circuit.node), Terminal(circuit.name, "VCC"), POSITIVE)
        self._power(kind, Terminal(circuit.name, GROUND), minus(circuit.node), NEGATIVE)

    def _board(self, kind: _Kind) -> None:
        node = kind.circuit.node
        point = "5V" if abs(node.volts.value - 5) < 0.3 else "VIN"
        self._power(kind, plus(node), Terminal(self.plan.board, point), POSITIVE)
        self._power(kind, Terminal(self.plan.board, GROUND), minus(node), NEGATIVE)

    def _ground(self, kind: _Kind, output: str) -> None:
        """The way of a load that is switched to 0 V from its transistor to the supply."""
        if getattr(self._output_of(output), "driver", None) is None:
            back = Terminal(output, "source"), minus(self._on_this_side(kind.circuit))
            self._power(kind, *back, NEGATIVE, short=True)

    def _on_this_side(self, circuit: Circuit) -> Node:
        """The supply of a circuit or, if that is beyond a connector that the circuit passes, what
        feeds it from here."""
        node = circuit.node
        own = {one.to.name: one for one in self.sizing.circuits if one.to is not None}
        for plug in self.plugs:
            if plug.contacts_of(circuit):
                while node.parent is not None and self._is_beyond(plug, node, own):
                    node = node.parent
        return node

    @staticmethod
    def _is_beyond(plug: Plug, node: Node, own: dict[str, Circuit]) -> bool:
        """Whether a supply, or one that feeds it, comes through a connector."""
        at: Node | None = node
        while at is not None:
            if plug.contacts_of(own[at.name]):
                return True
            at = at.parent
        return False

    def _drivers(self) -> None:
        """What every driver chip itself hangs on: 0 V, and for its clamp diodes its supply."""
        for driver in self.ship.drivers or ():
            name = driver.name.value
            node = self.nodes[driver.supply.value]
            run = self.sizing.at(node, name)
            fuse = self.protecting.at(node).fuse
            for ends, colour in (
                ((plus(node), Terminal(name, "COM")), POSITIVE),
                ((Terminal(name, GROUND), minus(node)), NEGATIVE),
            ):
                self._add(
                    *(*ends, run, colour),
                    carries=(name,),
                    current=None,
                    fuse=fuse,
                    place=driver.place,
                )

    def _drain(self, output: str) -> Terminal:
        """Where a transistor or a driver chip takes the current of its load."""
        item = self._output_of(output)
        driver = getattr(item, "driver", None)
        if driver is None:
            return Terminal(output, "drain")
        return Terminal(driver.value, f"out {driver_output(self.ship, driver.value, output)}")

    def _back(self, kind: _Kind, start: Terminal) -> None:
        """From a load to 0 V: through a connector its current joins that of the others."""
        for plug in self.plugs:
            numbers = plug.contacts_of(kind.circuit)
            if numbers and plug.leads[numbers[0]].returned:
                self._power(kind, start, Terminal(plug.name, "returns"), NEGATIVE)
                return
        self._power(kind, start, minus(kind.circuit.node), NEGATIVE)

    def _comes_back_switched(self, circuit: Circuit) -> bool:
        """Whether all that hangs on a supply comes back by leads that are switched to 0 V."""
        switched = {lead.of for plug in self.plugs for lead in plug.leads.values() if lead.fed_by}
        passed = any(plug.contacts_of(circuit) for plug in self.plugs)
        return passed and all(owner_of(share.feed) in switched for share in circuit.shares)

    def _returns(self, plug: Plug) -> None:
        """The contacts of a connector that lead all of it back."""
        carried = [
            circuit
            for circuit in self.sizing.circuits
            if any(plug.leads[number].returned for number in plug.contacts_of(circuit))
        ]
        if not carried:
            return
        run = self.sizing.cables[plug.name]
        node = min((circuit.node for circuit in carried), key=lambda one: one.depth)
        for number in plug.returns:
            self._add(
                *(Terminal(plug.name, f"{number} (return)"), minus(node), run, NEGATIVE),
                carries=tuple(circuit.name for circuit in carried),
                current=plug.each,
                fuse="",
                place=plug.item.place,
            )
            self.contact_wires[plug.name, number] = self.made[-1].number

    def _through(
        self,
        kind: _Kind,
        start: Terminal,
        end: Terminal,
        colour: str,
        *,
        contact: str = "",
    ) -> None:
        """A wire to a load or a supply. If its circuit passes a connector, so does this: of one
        with several leads by the contact of an output or a way."""
        for plug in self.plugs:
            number = self._contact(plug, kind.circuit, contact)
            if number is not None:
                point = Terminal(plug.name, str(number))
                self._cable(kind, plug, number, start, point, colour=colour)
                start = point
        self._power(kind, start, end, colour)

    def _through_back(self, kind: _Kind, start: Terminal, end: Terminal, *, contact: str) -> None:
        """The same from a load to what switches it to 0 V."""
        colour = kind.circuit.colour or SWITCHED
        for plug in self.plugs:
            number = self._contact(plug, kind.circuit, contact)
            if number is not None:
                point = Terminal(plug.name, str(number))
                self._power(kind, start, point, colour)
                self._cable(kind, plug, number, point, end, colour=colour)
                return
        self._power(kind, start, end, colour)

    def _cable(
        self, kind: _Kind, plug: Plug, number: int, start: Terminal, end: Terminal, *, colour: str
    ) -> None:
        """The wire of a contact in a connector's cable."""
        self._add(
            *(start, end, self.sizing.cables[plug.name], colour),
            carries=(plug.leads[number].text,),
            current=plug.currents[number],
            fuse=kind.fuse,
            place=kind.circuit.place,
        )
        self.contact_wires[plug.name, number] = self.made[-1].number

    @staticmethod
    def _contact(plug: Plug, circuit: Circuit, contact: str) -> int | None:
        passed = plug.contacts_of(circuit)
        return next(
            (one for one in passed if plug.leads[one].output in ("", "power", contact)), None
        )

    def _power(
        self,
        kind: _Kind,
        start: Terminal,
        end: Terminal,
        colour: str,
        *,
        of: str = "",
        short: bool = False,
    ) -> None:
        """One wire of a circuit; `short` without a length of its own, `of` for one of its loads."""
        circuit = kind.circuit
        current = circuit.currents.worst
        if of:
            consumer = next(s.consumer for s in circuit.shares if s.consumer.name == of)
            draws = consumer.draws
            current = Figure(of, "its current", draws.value, "A", "as given", (draws,), "")
        link = end == Terminal(kind.fuse, "in")
        run = self.sizing.link(circuit) if link else kind.sized.run
        self._add(
            *(start, end, run, self._colour(circuit, colour)),
            carries=(of or circuit.name,),
            current=current,
            fuse=self.protecting.before(circuit).fuse if link else kind.fuse,
            place=circuit.place,
            short=short,
        )

    @staticmethod
    def _colour(circuit: Circuit, usual: str) -> str:
        """The positive wires of a supply have its colour."""
        own = usual == POSITIVE and circuit.to is not None
        return circuit.colour if own and circuit.colour else usual

    def _signals(self) -> None:
        """From the receiver to the board, and from the board to what it works."""
        board = self.plan.board
        for one in self.plan.inputs:
            plug = "sum signal" if one.name == SUM_SIGNAL else one.name
            self._signal(Terminal("receiver", plug), Terminal(board, one.pin), one.name, None)
        for item in self.ship.outputs:
            if isinstance(item, RegisterItem):
                for word in ("data", "clock", "latch", "blank"):
                    pin = getattr(item, word)
                    if pin is not None:
                        end = Terminal(item.name.value, word)
                        self._signal(Terminal(board, pin.value), end, item.name.value, item.place)
            elif isinstance(item, PairItem):
                for way, pin in item.ways.items.items():
                    name = f"{item.name.value} {way}"
                    self._output_signal(name, pin.value, item)
            else:
                self._output_signal(item.name.value, item.pin.value, item)
        for sensor in self.plan.sensors:
            contact = isinstance(sensor, DigitalSensor)
            start = Terminal(sensor.name, "1" if contact else "out")
            self._signal(start, Terminal(board, sensor.pin), sensor.name, None)
            if contact:
                back = Terminal(sensor.name, "2"), Terminal(board, GROUND)
                self._signal(*back, sensor.name, None)

    def _output_signal(
        self, name: str, pin: str, item: LineItem | PairItem | ServoItem | DimmerItem
    ) -> None:
        start = Terminal(self.plan.board, pin)
        register, _, number = pin.rpartition(" ")
        if register in self.ship.outputs.items:
            start = Terminal(register, number)
        driver = getattr(item, "driver", None)
        if driver is not None:
            number = str(driver_output(self.ship, driver.value, name))
            self._signal(start, Terminal(driver.value, f"in {number}"), name, item.place)
            if getattr(item, "coil", None) is not None:
                out = Terminal(driver.value, f"out {number}")
                self._signal(out, Terminal(name, "coil -"), name, item.place)
            return
        point = {
            ServoItem: "signal",
            DimmerItem: "gate",
        }.get(type(item), "gate" if item.kind.value == "transistor" else "IN")
        if isinstance(item, PairItem) and item.kind.value == "transistor":
            end = Terminal(item.name.value, f"in {name.removeprefix(item.name.value).strip()}")
        else:
            end = Terminal(name, point)
        for plug in self.plugs:
            for number_, lead in plug.leads.items():
                function = self.ship.functions.items.get(lead.of)
                drives = [one.value for one in function.driven()] if function is not None else []
                if lead.is_signal and name in drives:
                    middle = Terminal(plug.name, str(number_))
                    self._signal(start, middle, name, item.place)
                    self.contact_wires[plug.name, number_] = self.made[-1].number
                    start = middle
        self._signal(start, end, name, item.place)

    def _signal(self, start: Terminal, end: Terminal, carries: str, place: Place | None) -> None:
        self._add(
            *(start, end, None, ANY),
            carries=(carries,),
            current=None,
            fuse="",
            place=place or self.ship.outputs.place,
        )

    def _add(
        self,
        start: Terminal,
        end: Terminal,
        run: Run | None,
        colour: str,
        *,
        carries: tuple[str, ...],
        current: Figure | None,
        fuse: str,
        place: Place,
        short: bool = False,
    ) -> None:
        length = run.length.value if run is not None and run.length and not short else None
        drop = None
        if run is not None and run.one_way is not None and current is not None and not short:
            drop = one_wire(carries[0], "voltage drop of one wire", current, run.one_way)
        self.made.append(
            Wire(
                number=f"W{len(self.made) + 1}",
                from_=start,
                to=end,
                size_mm2=run.size.mm2 if run is not None else 0.0,
                size_name=run.size.name if run is not None else "signal",
                colour=colour,
                length_m=length,
                carries=carries,
                current=current,
                drop=drop,
                fuse=fuse,
                place=place,
            )
        )

    def _output_of(self, name: str) -> object:
        """The output that a line or a light of the plan belongs to."""
        item = self.ship.outputs.items.get(name)
        if item is not None:
            return item
        return next(
            (
                one
                for one in self.ship.outputs
                if isinstance(one, PairItem)
                and name in [f"{one.name.value} {way}" for way in one.ways.items]
            ),
            None,
        )

    def _servo_of(self, circuit: Circuit) -> str | None:
        """The controller that a load hangs on, where its function drives a servo's signal."""
        function = circuit.feed.function if circuit.feed is not None else None
        for driven in function.driven() if function is not None else ():
            if isinstance(self.ship.outputs.items.get(driven.value), ServoItem):
                return driven.value
        return None


def _has_switch(consumer: Consumer) -> bool:
    """Whether a load has a switch by hand."""
    return isinstance(consumer.item, LoadItem) and consumer.item.hand_switch.value


def plus(node: Node) -> Terminal:
    """Where the current of a supply is taken."""
    return _given(node, "+")


def minus(node: Node) -> Terminal:
    """Where it comes back."""
    return _given(node, "-")


def plus_in(node: Node) -> Terminal:
    """Where a supply takes its own current."""
    return _taken(node, "+")


def minus_in(node: Node) -> Terminal:
    """Where it gives that back."""
    return _taken(node, "-")


def _given(node: Node, pole: str) -> Terminal:
    if node.kind == "battery":
        return Terminal(f"{node.name} strip" if node.has_strip else node.name, pole)
    return Terminal(node.name, f"out {pole}" if node.kind == "regulator" else pole)


def _taken(node: Node, pole: str) -> Terminal:
    return Terminal(node.name, f"in {pole}" if node.kind == "regulator" else pole)
