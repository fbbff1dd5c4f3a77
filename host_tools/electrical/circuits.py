"""Circuits: each pair of wires of the tree, from a supply to a feed or to the next supply, with
what flows in it and what the owner says of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.electric import LoadItem
from gen.read.kinds import NONE
from gen.ship import LineItem, PairItem
from host_tools.electrical.figure import Given
from host_tools.electrical.fuses import KINDS
from host_tools.electrical.rules import size_of
from host_tools.electrical.tree import Share
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.diagnostics import Place
    from gen.electric import ServoPowerItem, SupplyItem
    from gen.ship import Ship
    from host_tools.electrical.consumers import Feed
    from host_tools.electrical.currents import Currents, Summing
    from host_tools.electrical.fuses import FuseKind
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Node, Tree


@dataclass(frozen=True)
class Circuit:
    """A pair of wires that hangs on `node`: to a `feed`, to the next supply `to`, or, of a battery
    (`to` is `node` itself), its own. `shares` is whose current it carries, `currents` the sums of
    that. `wire` is None where the owner leaves its size to us; `contacts` are what the relays in it
    carry at most."""

    name: str
    node: Node
    feed: Feed | None
    to: Node | None
    shares: tuple[Share, ...]
    currents: Currents
    fuse: Decimal | str
    fuse_kind: FuseKind
    wire: Given | None
    length: Given | None
    drop: Given
    colour: str
    contacts: tuple[Given, ...]
    place: Place
    fuse_place: Place

    @property
    def is_wired(self) -> bool:
        """Whether it has wires at all: what hangs at a battery's poles begins there."""
        return self.to is not self.node or self.node.has_strip

    @property
    def wants_fuse(self) -> bool:
        """Whether there is to be one."""
        return self.fuse != NONE


def circuits_of(tree: Tree, ship: Ship, rules: WireRules, summing: Summing) -> tuple[Circuit, ...]:
    """Those of supplies, each behind what feeds it, then those of feeds."""
    maker = _Maker(ship, rules, summing, tree)
    supplies = [maker.of_supply(node) for node in _downwards(tree)]
    feeds = [maker.of_feed(feed, node) for node in tree.nodes.values() for feed in node.feeds]
    order = {id(feed): index for index, feed in enumerate(tree.feeds)}
    feeds.sort(key=lambda circuit: order[id(circuit.feed)])
    return (*supplies, *feeds)


def _downwards(tree: Tree) -> list[Node]:
    made: list[Node] = []

    def go(node: Node) -> None:
        made.append(node)
        for child in node.children:
            go(child)

    for battery in tree.batteries:
        go(battery)
    return made


class _Maker:
    def __init__(self, ship: Ship, rules: WireRules, summing: Summing, tree: Tree) -> None:
        self.ship = ship
        self.rules = rules
        self.summing = summing
        self.tree = tree
        self.written = Written(tree.source)

    def of_supply(self, node: Node) -> Circuit:
        """The wires at the beginning of a supply."""
        shares = list(self.tree.shares(node))
        if node.efficiency is not None:
            one = node.taken(Given("1 A", 1.0, "A", "")).value
            shares = [Share(s.feed, s.consumer, s.factor * one, (*s.path, node)) for s in shares]
        item = node.item
        return Circuit(
            name=node.name,
            node=node.parent or node,
            feed=None,
            to=node,
            shares=tuple(shares),
            currents=self.summing.of(node.name, shares),
            fuse=item.fuse.value,
            fuse_kind=KINDS[item.fuse_kind.value],
            wire=self._wire(item),
            length=self._length(item),
            drop=self.rules.drop,
            colour=item.colour.value if item.colour is not None else "",
            contacts=(),
            place=item.place,
            fuse_place=item.fuse.place,
        )

    def of_feed(self, feed: Feed, node: Node) -> Circuit:
        """The wires of a feed. Several loads on it are reckoned as if all of their current flowed
        to the farthest of them, on the thinnest wire that one of them has."""
        shares = [Share(feed, consumer, 1.0, ()) for consumer in feed.consumers]
        items = [one.item for one in feed.consumers if one.item is not None]
        loads = [item for item in items if isinstance(item, LoadItem)]
        wires = [wire for item in items if (wire := self._wire(item)) is not None]
        lengths = [length for item in items if (length := self._length(item)) is not None]
        drops = [self._drop(load) for load in loads if load.drop is not None]
        colours = [load.colour.value for load in loads if load.colour is not None]
        return Circuit(
            name=feed.name,
            node=node,
            feed=feed,
            to=None,
            shares=tuple(shares),
            currents=self.summing.of(feed.name, shares),
            fuse=feed.fuse,
            fuse_kind=KINDS[node.item.fuse_kind.value],
            wire=min(wires, key=lambda wire: wire.value, default=None),
            length=max(lengths, key=lambda length: length.value, default=None),
            drop=min(drops, key=lambda drop: drop.value, default=self.rules.drop),
            colour=colours[0] if colours else "",
            contacts=self._contacts(feed),
            place=feed.place,
            fuse_place=items[0].fuse.place if items else feed.place,
        )

    def _wire(self, item: SupplyItem | LoadItem | ServoPowerItem) -> Given | None:
        if item.wire.value is None:
            return None
        size = size_of(item.wire.value)
        return self.written.number(size.name, size.mm2, "mm2", item.wire.place)

    def _length(self, item: SupplyItem | LoadItem | ServoPowerItem) -> Given | None:
        if item.length is None:
            return None
        return self.written.given("length", item.length, "m")

    def _drop(self, load: LoadItem) -> Given:
        assert load.drop is not None  # noqa: S101 - asked by the caller
        return self.written.given("allowed drop", load.drop, "%")

    def _contacts(self, feed: Feed | None) -> tuple[Given, ...]:
        """What the contacts of the outputs of a load may switch."""
        if feed is None or feed.kind != "load" or feed.function is None:
            return ()
        found = []
        for driven in feed.function.driven():
            item = self.ship.outputs.items.get(driven.value)
            if isinstance(item, LineItem | PairItem) and item.contacts is not None:
                if isinstance(item, LineItem) and driven.value not in feed.outputs:
                    continue
                found.append(self.written.given(f"{driven.value} contact", item.contacts, "A"))
        return tuple({one.name: one for one in found}.values())
