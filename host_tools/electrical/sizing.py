"""The wire of each circuit: the one that the owner gives, or the thinnest at hand that its fuse
protects and that loses little enough; and what is lost on it, there and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.wire import SIZES, Size, ampacity, drop, one_wire, resistance, share

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.connectors import Plug
    from host_tools.electrical.figure import Input
    from host_tools.electrical.findings import Findings
    from host_tools.electrical.protecting import Protecting
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Node

COLUMN = "Handbook of Electronic Tables and Formulas (a rule of thumb)"
DROP = "ISO 10133: 3 % for navigation lights and pumps; 1/58 in place of its 0.0164"


THICK = 4
"""A fuse of so many times the current of a circuit is there for others: common practice, no source.
"""


@dataclass(frozen=True)
class Run:
    """A wire of a size with what it carries. `one_way` is its resistance, None without a length."""

    size: Size
    proposed: bool
    ampacity: Figure
    length: Given | None
    one_way: Figure | None


@dataclass(frozen=True)
class Sized:
    """A circuit's own wire and those of the cables that it passes; `drop` is lost on all of them,
    there and back, `share` as a part of its supply. Both are None while a length is missing."""

    run: Run
    cables: tuple[tuple[Plug, Run], ...]
    drop: Figure | None
    share: Figure | None


class Sizing:
    """Sizes the wires of a ship. Cables come first: many circuits share one."""

    def __init__(
        self,
        circuits: Sequence[Circuit],
        plugs: Sequence[Plug],
        rules: WireRules,
        protecting: Protecting,
        findings: Findings,
    ) -> None:
        self.circuits = circuits
        self.rules = rules
        self.plugs = plugs
        self.protecting = protecting
        self.findings = findings
        self.cables = {plug.name: self._cable(plug, circuits) for plug in plugs}
        self._sized = {id(circuit): self._size(circuit) for circuit in circuits}

    def of(self, circuit: Circuit) -> Sized:
        """The wires of a circuit."""
        return self._sized[id(circuit)]

    def link(self, circuit: Circuit) -> Run:
        """The short wire from a supply to the fuse of a circuit: it bears the fuse before that."""
        own = self.of(circuit).run
        before = self.protecting.before(circuit).most
        if before is None or own.ampacity.value >= before.value:
            return own
        return self.at(circuit.node, circuit.name)

    def at(self, node: Node, of: str) -> Run:
        """A short wire that hangs on a supply: the thinnest that bears the fuse before it, of those
        at hand or else of those that shops have."""
        most = self.protecting.at(node).most
        run = None
        for run in self._runs(of, (*self.rules.have, *SIZES), None):
            if most is None or run.ampacity.value >= most.value:
                break
        assert run is not None  # noqa: S101 - shops have some
        return run

    def _size(self, circuit: Circuit) -> Sized:
        passed = [plug for plug in self.plugs if plug.contacts_of(circuit)]
        cables = tuple((plug, self.cables[plug.name]) for plug in passed)
        carries = self._carries(circuit)
        if circuit.wire is not None:
            run = self._run(circuit.name, circuit.wire, circuit.length, proposed=False)
            made = self._lost(circuit, run, cables)
            self._check(circuit, made, carries)
        else:
            made = self._proposed(circuit, cables, carries)
        if made.share is not None and made.share.value > circuit.drop.value + 1e-9:
            self.findings.unwise(
                "wire-drop",
                circuit.place,
                f"{show(circuit.name)}: its wires, {made.run.size.name}, lose too much voltage",
                got=f"{made.share.shown()} of {circuit.node.volts.shown()}",
                expected=f"at most {circuit.drop.shown()}",
                clause=DROP,
            )
        return made

    def _carries(self, circuit: Circuit) -> Input:
        """What its wire must bear: the fuse before it, else what flows."""
        most = self.protecting.behind(circuit).most
        worst = circuit.currents.worst
        return most if most is not None and most.value > worst.value else worst

    def _proposed(
        self, circuit: Circuit, cables: tuple[tuple[Plug, Run], ...], carries: Input
    ) -> Sized:
        """The thinnest wire at hand that will do; the thickest, and a complaint, if none does."""
        made = None
        for run in self._runs(circuit.name, self.rules.have, circuit.length):
            made = self._lost(circuit, run, cables)
            small = made.share is None or made.share.value <= circuit.drop.value
            if run.ampacity.value >= carries.value - 1e-9 and small:
                self._advise(circuit, run, carries)
                return made
        assert made is not None  # noqa: S101 - there is always a size at hand
        thin = made.run.ampacity.value < carries.value - 1e-9
        if thin and circuit.is_wired and not self.protecting.unfit(circuit):
            self.findings.unsafe(
                "no-such-wire",
                circuit.place,
                f"{show(circuit.name)}: {made.run.size.name}, the thickest wire at hand, bears too"
                f" little {self._why(circuit)}",
                got=f"{made.run.ampacity.shown()} ({self.rules.column.value})",
                expected=f"at least {carries.shown()}",
                clause=COLUMN,
            )
        return made

    def _advise(self, circuit: Circuit, run: Run, carries: Input) -> None:
        """A wire that is thick only because a large fuse is the next one before it."""
        worst = circuit.currents.worst
        fuse = self.protecting.behind(circuit).fuse
        thick = carries.value > THICK * worst.value and run.size.mm2 > self.rules.have[0].mm2
        if fuse and thick and circuit.is_wired and not circuit.wants_fuse:
            self.findings.unwise(
                "fuse-missing",
                circuit.fuse_place,
                f"{show(circuit.name)}: {worst.shown()} on a wire of {run.size.name}, because fuse"
                f" {fuse} is the next one before it",
                got=f"{carries.shown()} before {worst.shown()}",
                expected="fuse: auto, and a thinner wire",
                clause="selectivity: common practice, no source",
            )

    def _why(self, circuit: Circuit) -> str:
        fuse = self.protecting.behind(circuit).fuse
        return f"for fuse {fuse}" if fuse else "for what flows in it"

    def _check(self, circuit: Circuit, made: Sized, carries: Input) -> None:
        """A wire that the owner chose."""
        if made.run.ampacity.value >= carries.value - 1e-9:
            return
        worst = circuit.currents.worst
        if made.run.ampacity.value >= worst.value and self.protecting.behind(circuit).fuse:
            return  # its fuse is what is wrong, and has been complained about
        self.findings.unsafe(
            "wire-too-thin",
            circuit.place,
            f"{show(circuit.name)}: its wire, {made.run.size.name}, carries more than it may",
            got=carries.shown(),
            expected=f"at most {made.run.ampacity.shown()} ({self.rules.column.value})",
            clause=COLUMN,
        )

    def _cable(self, plug: Plug, circuits: Sequence[Circuit]) -> Run:
        """The wires of a connector's cable, all of one size."""
        passing = [circuit for circuit in circuits if plug.contacts_of(circuit)]
        needs = [self._carries(circuit) for circuit in passing]
        if plug.each is not None:
            needs.append(plug.each)
        if plug.wire is not None:
            return self._run(plug.name, plug.wire, plug.length, proposed=False)
        most = max(needs, key=lambda one: one.value, default=Given("nothing", 0.0, "A", ""))
        for run in self._runs(plug.name, self.rules.have, plug.length):
            if run.ampacity.value >= most.value - 1e-9:
                return run
        self.findings.unsafe(
            "no-such-wire",
            plug.item.place,
            f"connector {show(plug.name)}: {run.size.name}, the thickest wire at hand, bears too"
            " little",
            got=f"{run.ampacity.shown()} ({self.rules.column.value})",
            expected=f"at least {most.shown()}",
            clause=COLUMN,
        )
        return run

    def _runs(self, of: str, sizes: Sequence[Size], length: Given | None) -> Iterator[Run]:
        """Wires that could be proposed, one after another."""
        for size in sizes:
            given = Given(size.name, size.mm2, "mm2", self.rules.source)
            yield self._run(of, given, length, proposed=True)

    def _run(self, of: str, size: Given, length: Given | None, *, proposed: bool) -> Run:
        one_way = None
        if length is not None:
            one_way = resistance(of, size, length, self.rules.temperature)
        carries = ampacity(of, size, self.rules.column)
        return Run(Size(size.value, size.name), proposed, carries, length, one_way)

    def _lost(self, circuit: Circuit, run: Run, cables: tuple[tuple[Plug, Run], ...]) -> Sized:
        current = circuit.currents.worst
        parts: list[Figure] = []
        known = run.one_way is not None and all(one.one_way is not None for _, one in cables)
        if run.one_way is not None:
            parts.append(drop(circuit.name, current, run.one_way))
        for plug, cable in cables:
            if cable.one_way is not None:
                parts += self._lost_in_cable(circuit, plug, cable.one_way)
        if not parts or not known:
            return Sized(run, cables, None, None)
        total = parts[0]
        if len(parts) > 1:
            total = Figure(
                circuit.name,
                "voltage drop on all its wires",
                sum(part.value for part in parts),
                "V",
                "U = sum of the drops, one behind the other",
                tuple(parts),
                "Kirchhoff's voltage law",
            )
        return Sized(run, cables, total, share(circuit.name, total, circuit.node.volts))

    @staticmethod
    def _lost_in_cable(circuit: Circuit, plug: Plug, one_way: Figure) -> list[Figure]:
        """There on its own contact, back on those that all share."""
        current = circuit.currents.worst
        contacts = plug.contacts_of(circuit)
        lead = plug.leads[contacts[0]]
        if not lead.fed_by and (len(contacts) > 1 or plug.each is None or not lead.returned):
            return [drop(circuit.name, current, one_way)]
        there = one_wire(circuit.name, f"voltage drop in {plug.name}", current, one_way)
        if lead.fed_by or plug.each is None:
            return [there]  # it comes from a supply beyond, whose own drop that is
        back = Figure(
            circuit.name,
            f"voltage drop back through {plug.name}",
            plug.each.value * one_way.value,
            "V",
            "U = current of each return * R",
            (plug.each, one_way),
            "Ohm's law: the common return carries the sum of all",
        )
        return [there, back]
