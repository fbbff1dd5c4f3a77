"""What stands between the board's pins and what they switch: transistors, diodes, snubbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.ship import DimmerItem, PairItem
from host_tools.electrical.behind import INDUCTIVE, most_of
from host_tools.electrical.coils import CAPACITOR, flyback_diode, snubber
from host_tools.electrical.electrics import Part
from host_tools.electrical.figure import PRACTICE, Figure, Given, shown
from host_tools.electrical.found import Found, together
from host_tools.electrical.led_parts import resistor_part
from host_tools.electrical.resistors import switch
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from host_tools.electrical.behind import Behind
    from host_tools.electrical.consumers import Consumer
    from host_tools.electrical.figure import Input
    from host_tools.electrical.tree import Tree

PIN_V = Given("level of a pin", 5.0, "V", "a board of 5 V")
SPARE_VOLTAGE = Given("voltage of a transistor / supply", 2.0, "", PRACTICE)
TRANSISTOR_V = (30.0, 60.0, 100.0)
NPN_A = (0.1, 0.5, 1.0)
MOSFET_A = (5.0, 10.0, 20.0, 40.0)
"""Ratings that shops have (common practice, no source)."""


def switch_parts(lines: Iterable[Behind], tree: Tree, file: str) -> Found:
    """Transistors for outputs that are such, and what bears the spark of every coil and motor."""
    lines = tuple(lines)
    found = [_Line(line, tree, Written(file)).found() for line in lines]
    return together([*found, *_pairs(lines, tree)])


class _Line:
    """One line or light that is no pair's."""

    def __init__(self, line: Behind, tree: Tree, written: Written) -> None:
        self.line = line
        self.tree = tree
        self.written = written

    def found(self) -> Found:
        output = self.line.output
        if isinstance(output, PairItem) or not self.line.loads:
            return Found()
        parts: list[Found] = []
        transistor = isinstance(output, DimmerItem) or output.kind.value == "transistor"
        if transistor and not self.line.driver:
            parts.append(self._transistor())
        # Clamped by the driver chip itself, if its common pin is on their supply: driver_parts.
        if not (self.line.driver and self.line.coil is None):
            parts += [self._diode(*load) for load in self.line.loads if _sparks(load[1])]
        return together(parts)

    def _transistor(self) -> Found:
        line = self.line.line
        given = tuple(most_of(consumer) for _, consumer in self.line.loads)
        carries = Figure(
            line,
            "current of its transistor",
            sum(one.in_unit("A") for one in given),
            "A",
            "I = sum of its loads, motors held fast",
            given,
            "Kirchhoff's current law",
        )
        volts = max((self.tree.nodes[supply].highest for supply, _ in self.line.loads), key=_value)
        bears = Figure(
            line,
            "voltage that its transistor bears",
            SPARE_VOLTAGE.value * volts.in_unit("V"),
            "V",
            "U = 2 * highest voltage",
            (volts, SPARE_VOLTAGE),
            PRACTICE,
        )
        output = self.line.output
        pin_a = self.written.usual("what the pin carries", output.draws, "A", output)
        made = switch(line, carries, pin_v=PIN_V, pin_a=pin_a)
        kind = "NPN transistor" if made.bipolar else "N-channel logic-level MOSFET"
        volts_rated = _rated(TRANSISTOR_V, bears.value)
        amperes_rated = _rated(NPN_A if made.bipolar else MOSFET_A, carries.value)
        spec = f"{shown(volts_rated, 'V')}, {shown(amperes_rated, 'A')} or more"
        parts = [
            Part(kind, 1, spec, (line,)),
            resistor_part(
                made.resistor.value.value, made.resistor.rating.value, 1, f"{line}, at its pin"
            ),
        ]
        if made.pull_down is not None:
            parts.append(resistor_part(made.pull_down.value, 0.125, 1, f"{line}, from gate to 0 V"))
        figures = (carries, bears, made.base_a, made.resistor.value, made.resistor.rating)
        return Found(figures, tuple(parts))

    def _diode(self, supply: str, load: Consumer) -> Found:
        made = flyback_diode(load.name, self.tree.nodes[supply].highest, most_of(load))
        bears = f"{shown(made.reverse.value, 'V')}, {made.forward.shown()}"
        spec = f"{made.usual} (at least {bears})" if made.usual else f"at least {bears}"
        part = Part("diode", 1, spec, (f"{load.name}, cathode to plus",))
        return Found((made.reverse, made.forward), (part,))


def _pairs(lines: Iterable[Behind], tree: Tree) -> Iterator[Found]:
    """A motor that runs both ways has no diode: a snubber across each contact, or a bridge that has
    its own."""
    for line in lines:
        if not isinstance(line.output, PairItem):
            continue
        for supply, load in line.loads:
            if load.kind not in INDUCTIVE:
                continue
            volts = tree.nodes[supply].highest
            if line.output.kind.value == "relay":
                yield _snubber(line.line, volts, load)
            elif line.line.removeprefix(f"{line.output.name.value} ") == next(
                iter(line.output.ways.items)
            ):
                most = most_of(load)
                spec = f"more than {shown(volts.value, 'V')}, {shown(most.value, 'A')}"
                yield Found(parts=(Part("motor bridge", 1, spec, (line.output.name.value,)),))


def _snubber(line: str, volts: Input, load: Consumer) -> Found:
    made = snubber(line, volts, load.draws)
    for_ = f"{line}, across its contact"
    return Found(
        (made.resistor, made.capacitor),
        (
            Part("resistor", 1, f"{made.resistor.shown()}, 0.5 W", (for_,)),
            Part(
                "capacitor",
                1,
                f"{made.capacitor.shown()}, {CAPACITOR.value:g} V, not polarised",
                (for_,),
            ),
        ),
    )


def _rated(ratings: Sequence[float], least: float) -> float:
    """The smallest that is enough; what is wanted itself if none is."""
    return next((one for one in ratings if one >= least), least)


def _sparks(load: Consumer) -> bool:
    return load.kind in INDUCTIVE


def _value(given: Input) -> float:
    return given.value
