"""The tree of supplies: what feeds what, at which voltage, and what a current at one end is at the
other.

A battery feeds strips of its own voltage and regulators with one of theirs; feeds (consumers on a
pair of wires) hang on any of them. A strip takes what hangs on it. A switching regulator takes less
or more, by its voltages and its efficiency: reckoned at the lowest voltage before it, at which it
takes the most.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from gen.electric import supply_mv
from gen.read.kinds import NONE
from host_tools.electrical.battery import CHEMISTRIES, Battery, cut_off_v, full_v
from host_tools.electrical.figure import Figure, Given, Input
from host_tools.electrical.regulators import SWITCHING, linear_efficiency, taken_a
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.electric import SupplyItem
    from gen.ship import Ship
    from host_tools.electrical.consumers import Consumer, Feed

NOTHING_DRAWN = Given("nearly no current", 0.0, "A", "an idle battery")


@dataclass
class Node:
    """One supply. `volts` is its nominal voltage; `lowest` and `highest` are those between which it
    moves as its battery is emptied, the nominal one behind a regulator or where nobody says what
    the battery is. `efficiency` is in %, None of what is no regulator."""

    name: str
    item: SupplyItem
    kind: Literal["battery", "strip", "regulator"]
    parent: Node | None
    volts: Input
    lowest: Input
    highest: Input
    efficiency: Input | None = None
    battery: Battery | None = None
    children: list[Node] = field(default_factory=list)
    feeds: list[Feed] = field(default_factory=list)

    def taken(self, gives_a: Input, of: str = "") -> Input:
        """What it takes from its parent while it gives a current."""
        if self.efficiency is None or self.parent is None:
            return gives_a
        return taken_a(
            of or self.name,
            gives_a,
            in_v=self.parent.lowest,
            out_v=self.volts,
            efficiency=self.efficiency,
        )

    @property
    def has_strip(self) -> bool:
        """Of a battery, whether its current is shared out elsewhere than at its poles: behind a
        fuse or a cable of its own."""
        return self.item.fuse.value != NONE or self.item.length is not None

    @property
    def depth(self) -> int:
        """How many supplies are before it."""
        return 0 if self.parent is None else self.parent.depth + 1

    @property
    def root(self) -> Node:
        """The battery at its beginning."""
        return self if self.parent is None else self.parent.root


@dataclass(frozen=True)
class Share:
    """A consumer's part of a current somewhere above it in the tree: `factor` of what it takes
    itself, by way of the regulators in `path`, the nearest to it first."""

    feed: Feed
    consumer: Consumer
    factor: float
    path: tuple[Node, ...]

    def of(self, amperes: Input) -> Input:
        """What a current of this consumer is up there."""
        for node in self.path:
            amperes = node.taken(amperes, self.consumer.name)
        return amperes


class Tree:
    """All supplies of a ship with what hangs on them."""

    def __init__(self, ship: Ship, feeds: Sequence[Feed], source: str) -> None:
        self.source = source
        self.feeds = tuple(feeds)
        self.nodes: dict[str, Node] = {}
        self._ship = ship
        self._written = Written(source)
        for item in ship.supplies or ():
            self._node(item)
        for feed in feeds:
            self.nodes[feed.supply].feeds.append(feed)

    @property
    def batteries(self) -> list[Node]:
        """What is fed by nothing."""
        return [node for node in self.nodes.values() if node.parent is None]

    def shares(self, node: Node) -> Iterator[Share]:
        """Every consumer at or below a supply, as a part of the current that it gives."""
        for feed in node.feeds:
            for consumer in feed.consumers:
                yield Share(feed, consumer, 1.0, ())
        for child in node.children:
            one = child.taken(Given("1 A", 1.0, "A", "")).value
            path = (child,) if child.efficiency is not None else ()
            for share in self.shares(child):
                yield Share(share.feed, share.consumer, share.factor * one, (*share.path, *path))

    def _node(self, item: SupplyItem) -> Node:
        """The supply, after what feeds it."""
        name = item.name.value
        if name in self.nodes:
            return self.nodes[name]
        supplies = self._ship.supplies
        assert supplies is not None  # noqa: S101 - the item is one of them
        parent = self._node(supplies.items[item.from_.value]) if item.from_ is not None else None
        millivolts = supply_mv(name, supplies)
        assert millivolts is not None  # noqa: S101 - resolving has asked for it
        place = item.voltage.place if item.voltage is not None else item.place
        volts = self._written.number(f"{name} voltage", float(millivolts) / 1000, "V", place)
        if parent is None:
            node = self._battery(item, volts)
        elif item.voltage is None or (volts.value == parent.volts.value and not _regulates(item)):
            node = Node(
                *(name, item, "strip", parent, parent.volts),
                *(parent.lowest, parent.highest),
            )
        else:
            node = Node(name, item, "regulator", parent, volts, volts, volts)
            node.efficiency = self._efficiency(item, parent, volts)
        if parent is not None:
            parent.children.append(node)
        self.nodes[name] = node
        return node

    def _battery(self, item: SupplyItem, volts: Given) -> Node:
        name = item.name.value
        node = Node(name, item, "battery", None, volts, volts, volts)
        if item.chemistry is None:
            return node
        chemistry = CHEMISTRIES[item.chemistry.value]
        capacity = Given("no capacity given", 1.0, "Ah", "not used")
        if item.capacity is not None:
            capacity = self._written.given("capacity", item.capacity, "Ah")
        at, peukert = chemistry.at, chemistry.peukert
        if item.at is not None:
            at = self._written.given("capacity told for", item.at, "h")
        if item.peukert is not None:
            peukert = self._written.given("Peukert's exponent", item.peukert, "")
        made = Battery(name, chemistry, volts, capacity, at, peukert)
        node.lowest = cut_off_v(made, NOTHING_DRAWN)
        node.highest = full_v(made)
        if item.capacity is not None:
            node.battery = made
        return node

    def _efficiency(self, item: SupplyItem, parent: Node, volts: Given) -> Input:
        if item.kind is not None and item.kind.value == "linear":
            return linear_efficiency(item.name.value, parent.lowest, volts)
        if item.efficiency is None:
            return SWITCHING
        return self._written.given("efficiency", item.efficiency, "%")


def _regulates(item: SupplyItem) -> bool:
    return any(one is not None for one in (item.kind, item.rating, item.efficiency))


def summed(of: str, what: str, formula: str, given: Sequence[Input]) -> Figure:
    """Currents that add up."""
    total = sum(one.in_unit("A") for one in given)
    return Figure(of, what, total, "A", formula, tuple(given), "Kirchhoff's current law")
