"""Fuses and wire sizes of all circuits: each fuse between its load and its wire, each wire above
its fuse.

A fuse protects everything behind it up to the next one, and up to a regulator, which passes no more
than it can. So fuses are chosen from the ends of the tree to its batteries: what is behind one
and has none of its own limits it. Sizes that are left to us follow then, each from its fuse.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.plan import TICK_MS
from host_tools.electrical.electrics import Fuse
from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.fuses import Chosen, choose, judge, most_a, opening
from host_tools.electrical.wire import ampacity

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.connectors import Plug
    from host_tools.electrical.figure import Input
    from host_tools.electrical.findings import Findings
    from host_tools.electrical.fuses import FuseKind
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Node

IN_FRONT = "IEC 60364-4-43, 433.1: In <= Iz"
AT_SOURCE = "ISO 10133: overcurrent protection at the source of power (from memory)"


@dataclass(frozen=True)
class Protection:
    """What limits the current of a wire: `most` is the rating of a fuse, of which `fuse` is the
    number, or what a regulator can give (`fuse` is then ""). Both are missing where nothing does.
    """

    fuse: str
    most: Input | None


NOTHING = Protection("", None)


class Protecting:
    """Chooses the fuses of a ship."""

    def __init__(
        self,
        circuits: Sequence[Circuit],
        plugs: Sequence[Plug],
        rules: WireRules,
        plan: Plan,
        findings: Findings,
    ) -> None:
        self.circuits = circuits
        self.plugs = plugs
        self.rules = rules
        self.plan = plan
        self.findings = findings
        self.by_supply = {
            circuit.to.name: circuit for circuit in circuits if circuit.to is not None
        }
        wanted = [circuit for circuit in circuits if circuit.wants_fuse]
        self.numbers = {id(one): f"F{number}" for number, one in enumerate(wanted, 1)}
        self.chosen: dict[int, Chosen] = {}
        for circuit in self._from_the_ends():
            if circuit.wants_fuse:
                self.chosen[id(circuit)] = self._fuse(circuit)
        self._check_order()
        self._check_sources()

    def fuses(self) -> tuple[Fuse, ...]:
        """All fuses that could be chosen, by their numbers."""
        made = []
        for circuit in self.circuits:
            chosen = self.chosen.get(id(circuit))
            if chosen is not None and chosen.rating is not None:
                made.append(
                    Fuse(
                        number=self.numbers[id(circuit)],
                        branch=circuit.name,
                        rating_a=chosen.rating.value,
                        kind=chosen.kind.name,
                        why=chosen.rating,
                        blows_on_stall="; ".join(self._when_stalled(circuit, chosen.rating)),
                        given=isinstance(circuit.fuse, Decimal),
                        place=circuit.fuse_place,
                    )
                )
        return tuple(made)

    def fuse_of(self, circuit: Circuit) -> str:
        """The number of a circuit's own fuse, "" without one or if none could be found."""
        own = self._own(circuit)
        return own.fuse if own is not None else ""

    def unfit(self, circuit: Circuit) -> bool:
        """Whether no fuse could be found for it."""
        chosen = self.chosen.get(id(circuit))
        return chosen is not None and chosen.rating is None

    def behind(self, circuit: Circuit) -> Protection:
        """What protects the wires of a circuit."""
        own = self._own(circuit)
        if own is not None:
            return own
        return self.before(circuit)

    def before(self, circuit: Circuit) -> Protection:
        """What protects the wire to a circuit's own fuse."""
        return NOTHING if circuit.node is circuit.to else self.at(circuit.node)

    def at(self, node: Node) -> Protection:
        """What protects wires that hang on a supply and have no fuse of their own."""
        if node.efficiency is not None:
            rating = node.item.rating
            if rating is None:
                return NOTHING
            return Protection("", Given("rating", float(rating.value) / 1000, "A", "ship file"))
        own = self._own(self.by_supply[node.name])
        if own is not None:
            return own
        return self.at(node.parent) if node.parent is not None else NOTHING

    def _own(self, circuit: Circuit) -> Protection | None:
        chosen = self.chosen.get(id(circuit))
        if chosen is None or chosen.rating is None:
            return None
        return Protection(self.numbers[id(circuit)], chosen.rating)

    def _from_the_ends(self) -> Iterator[Circuit]:
        """Feeds first, then supplies, each before what feeds it."""
        yield from (circuit for circuit in self.circuits if circuit.feed is not None)
        yield from reversed([circuit for circuit in self.circuits if circuit.to is not None])

    def _fuse(self, circuit: Circuit) -> Chosen:
        most = self._most(circuit)
        currents = circuit.currents
        surges = [one for one in (currents.surge, currents.stalls) if one is not None]
        surge = max(surges, key=lambda one: one.value, default=None)
        if isinstance(circuit.fuse, Decimal):
            rating = Given("fuse", float(circuit.fuse) / 1000, "A", self._source(circuit))
            chosen = judge(
                circuit.name,
                circuit.fuse_kind,
                rating,
                load_a=currents.worst,
                most=most,
                surge_a=surge,
            )
            self._judge(circuit, chosen)
        else:
            chosen = self._choose(circuit, most, surge)
        if chosen.rating is not None and not chosen.bears_surge and surge is not None:
            when = opening(circuit.name, circuit.fuse_kind, chosen.rating, surge)
            self.findings.unwise(
                "fuse-surge",
                circuit.fuse_place,
                f"{_what(circuit)}: switching it on may blow its fuse of {chosen.rating.shown()}",
                got=f"{surge.shown()}: {when.in_words}",
                expected="more than 0.1 s",
                clause=circuit.fuse_kind.source,
            )
        return chosen

    def _choose(self, circuit: Circuit, most: Figure, surge: Figure | None) -> Chosen:
        """A fuse that is larger than those behind it, if what it protects allows one."""
        kind, worst = circuit.fuse_kind, circuit.currents.worst
        chosen = choose(circuit.name, kind, load_a=worst, most=most, surge_a=surge)
        if chosen.rating is None:
            self.findings.unsafe(
                "fuse-unfit",
                circuit.fuse_place,
                f"{_what(circuit)}: no fuse bears {worst.shown()} and protects {_limit(most)}",
                got=f"at least {chosen.least.shown()} for the load",
                expected=f"at most {most.shown()}",
                clause=IN_FRONT,
            )
            return chosen
        largest = max(self._behind_it(circuit), key=lambda one: one.value, default=None)
        if largest is None or largest.value < chosen.rating.value:
            return chosen
        above = next((one for one in kind.ratings_a if one > largest.value), None)
        if above is None or above > most.value:
            return chosen
        rating = Figure(
            circuit.name,
            "fuse",
            above,
            "A",
            "the next rating above the largest fuse behind it, so that that one blows first",
            (chosen.least, chosen.most, largest),
            kind.source,
        )
        return Chosen(kind, rating, chosen.least, most, chosen.bears_surge)

    def _behind_it(self, circuit: Circuit) -> Iterator[Input]:
        """The next fuses behind one, on the same voltage."""
        if circuit.to is None or circuit.to.efficiency is not None:
            return
        for other in self.circuits:
            if other is circuit or other.node is not circuit.to or other.to is other.node:
                continue
            chosen = self.chosen.get(id(other))
            if chosen is not None and chosen.rating is not None:
                yield chosen.rating
            elif chosen is None:
                yield from self._behind_it(other)

    def _most(self, circuit: Circuit) -> Figure:
        """The largest fuse that protects everything behind it."""
        wires: list[Input] = []
        carry: list[Input] = []
        for other in self._unprotected(circuit):
            wires.append(self.ampacity(other))
            carry += other.contacts
            for plug in self.plugs:
                if plug.contacts_of(other):
                    carry.append(plug.allowed)
                    wires.append(self.cable(plug))
        return most_a(circuit.name, circuit.fuse_kind, carry, wires)

    def _unprotected(self, circuit: Circuit) -> Iterator[Circuit]:
        """A circuit with all those behind it that rely on its fuse."""
        yield circuit
        if circuit.to is None or circuit.to.efficiency is not None:
            return
        for other in self.circuits:
            behind = other.node is circuit.to and other.to is not other.node
            if other is not circuit and behind and id(other) not in self.chosen:
                yield from self._unprotected(other)

    def ampacity(self, circuit: Circuit) -> Figure:
        """What the wire of a circuit carries: its own, or the thickest that could be taken."""
        size = circuit.wire or self._thickest()
        return ampacity(circuit.name, size, self.rules.column)

    def cable(self, plug: Plug) -> Figure:
        """The same for the wires of a connector's cable."""
        return ampacity(plug.name, plug.wire or self._thickest(), self.rules.column)

    def _thickest(self) -> Given:
        size = self.rules.thickest
        return Given(f"thickest wire at hand, {size.name}", size.mm2, "mm2", self.rules.source)

    def _source(self, circuit: Circuit) -> str:
        return f"{self.plan.source}:{circuit.fuse_place.line}"

    def _judge(self, circuit: Circuit, chosen: Chosen) -> None:
        """What is wrong with a fuse that the owner chose."""
        assert chosen.rating is not None  # noqa: S101 - it was given
        rating = chosen.rating
        if rating.value > chosen.most.value + 1e-9:
            self.findings.unsafe(
                "fuse-too-large",
                circuit.fuse_place,
                f"{_what(circuit)}: its fuse does not protect {_limit(chosen.most)}",
                got=rating.shown(),
                expected=f"at most {chosen.most.shown()}",
                clause=IN_FRONT,
            )
        if rating.value < chosen.least.value - 1e-9:
            self.findings.unwise(
                "fuse-too-small",
                circuit.fuse_place,
                f"{_what(circuit)}: its fuse carries {circuit.currents.worst.shown()}",
                got=rating.shown(),
                expected=f"at least {chosen.least.shown()}",
                clause=chosen.least.source,
            )

    def _when_stalled(self, circuit: Circuit, rating: Figure) -> Iterator[str]:
        """What every motor that relies on a fuse does to it when it is held fast, in words."""
        for behind in self._unprotected(circuit):
            said = self._stalled(behind, rating, circuit.fuse_kind)
            if said:
                yield said if behind is circuit else f"{behind.name} {said}"

    def _stalled(self, circuit: Circuit, rating: Figure, kind: FuseKind) -> str:
        """The same of one motor, by its own current alone; tells if nothing stops it."""
        stalls = circuit.currents.stalls
        if circuit.feed is None or stalls is None or circuit.feed.kind != "load":
            return ""
        when = opening(circuit.name, kind, rating, stalls)
        said = f"held fast ({stalls.shown()}) it {when.in_words}"
        limit_s = self._limit_s(circuit)
        if limit_s is not None:
            first = when.comes_before(limit_s)
            limit = f"the run limit of {limit_s:g} s"
            return (
                said
                + {
                    True: f", before {limit}",
                    False: f", after {limit}",
                    None: f", perhaps not before {limit}",
                }[first]
            )
        if math.isinf(when.latest.value):
            self.findings.unwise(
                "stall-unseen",
                circuit.place,
                f"{_what(circuit)}: held fast it draws {stalls.shown()}, and the fuse of"
                f" {rating.shown()} before it need not blow",
                got=when.in_words,
                expected="a smaller fuse, or stall:",
                clause=kind.source,
            )
        return said

    def _limit_s(self, circuit: Circuit) -> float | None:
        """The longest run of a winch in s, None of what has no limit."""
        index = circuit.feed.consumers[0].function if circuit.feed is not None else None
        if index is None:
            return None
        limits = self.plan.functions[index].longest_run_ticks
        return limits * TICK_MS / 1000 if limits is not None else None

    def _check_order(self) -> None:
        """A fuse that blows with or before the one behind it darkens more than need be."""
        for circuit in self.circuits:
            chosen = self.chosen.get(id(circuit))
            if chosen is None or chosen.rating is None:
                continue
            largest = max(self._behind_it(circuit), key=lambda one: one.value, default=None)
            if largest is not None and largest.value >= chosen.rating.value:
                self.findings.unwise(
                    "fuse-order",
                    circuit.fuse_place,
                    f"{_what(circuit)}: its fuse is no larger than one behind it",
                    got=chosen.rating.shown(),
                    expected=f"more than {largest.shown()}",
                    clause="selectivity: common practice, no source",
                )

    def _check_sources(self) -> None:
        """Between a battery and the first fuse there is to be nothing else."""
        for circuit in self.circuits:
            if circuit.to is not circuit.node or circuit.wants_fuse:
                continue
            bare = [
                other
                for other in self.circuits
                if other.node is circuit.to and other is not circuit and not other.wants_fuse
            ]
            for other in bare:
                self.findings.unsafe(
                    "no-fuse",
                    other.fuse_place,
                    f"{_what(other)}: nothing protects its wires from {show(circuit.name)}",
                    got="no fuse",
                    expected=f"fuse: auto, here or in {show(circuit.name)}",
                    clause=AT_SOURCE,
                )


def _what(circuit: Circuit) -> str:
    if circuit.to is not None:
        return f"supply {show(circuit.name)}"
    feed = circuit.feed
    if feed is not None and feed.function is not None:
        return f"function {show(feed.function.name.value)}"
    return show(circuit.name)


def _limit(most: Figure) -> str:
    """What it is that allows no larger fuse, in words."""
    *limits, sure = most.given
    share = min(1.0, 1.45 / sure.value)
    least = min(limits, key=lambda one: one.value * (share if _is_wire(one) else 1.0))
    if isinstance(least, Given):
        return f"the {least.name} ({least.shown()})"
    if _is_wire(least):
        return f"the wire of {least.of}, {least.given[0].label} ({least.shown()})"
    return f"the contacts of {least.of} ({least.shown()})"


def _is_wire(limit: Input) -> bool:
    return isinstance(limit, Figure) and limit.what.startswith("what the wire")
