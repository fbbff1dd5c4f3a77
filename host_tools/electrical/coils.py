"""What a coil does when it is switched off, and what bears it: diode, snubber, driver array.

A coil that is switched off drives its current on, at whatever voltage that takes. One that only
ever runs one way gets a diode across it. A motor that runs two ways cannot have one: a resistor
and a capacitor across each contact take the spark instead. A driver array has its diodes built
in; they work only if its common pin is on the coils' supply.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import Figure, Given, Input
from host_tools.electrical.interpolate import straight
from host_tools.electrical.resistors import rounded_up

if TYPE_CHECKING:
    from collections.abc import Sequence

_RELAY_TEXT = "ADLINK PCI-7256 manual, p. 37 (relay makers' text)"

REVERSE = Given("reverse voltage / supply", 10.0, "", _RELAY_TEXT)
"""What a diode across a coil should bear; in electronics two or three times is enough."""

DIODES = (
    ("1N4148", 75.0, 0.2),
    ("1N4004", 400.0, 1.0),
    ("1N5404", 400.0, 3.0),
    ("6A4", 400.0, 6.0),
    ("10A4", 400.0, 10.0),
)
"""Usual diodes: name, reverse voltage in V, forward current in A (datasheets, from memory)."""


@dataclass(frozen=True)
class Diode:
    """A diode across a coil: what it must bear, and a usual one that does ("" if none does)."""

    reverse: Figure
    forward: Figure
    usual: str


def flyback_diode(of: str, supply_v: Input, coil_a: Input) -> Diode:
    """The diode across a coil, its cathode to plus."""
    reverse = Figure(
        of,
        "reverse voltage of its diode",
        REVERSE.value * supply_v.in_unit("V"),
        "V",
        "UR = 10 * supply; 2 to 3 times is enough in electronics",
        (supply_v, REVERSE),
        _RELAY_TEXT,
    )
    forward = Figure(
        of,
        "forward current of its diode",
        coil_a.in_unit("A"),
        "A",
        "IF = current of the coil, which goes on through it",
        (coil_a,),
        _RELAY_TEXT,
    )
    fitting = (
        name
        for name, volts, amperes in DIODES
        if volts >= reverse.value and amperes >= forward.value
    )
    return Diode(reverse, forward, next(fitting, ""))


OHM_PER_V = (0.5, 1.0)
UF_PER_A = (0.5, 1.0)
"""Of a snubber, from and to (relay makers' text)."""

CAPACITOR = Given("least voltage of the capacitor", 200.0, "V", _RELAY_TEXT)

E6_UF = tuple(
    value * 10**power / 100 for power in range(5) for value in (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
)
"""Capacitors that shops have, in uF (IEC 60063, E6)."""


@dataclass(frozen=True)
class Snubber:
    """A resistor and a capacitor in series across a contact; the capacitor bears 200 to 300 V."""

    resistor: Figure
    capacitor: Figure


def snubber(of: str, supply_v: Input, load_a: Input) -> Snubber:
    """The snubber across a contact that switches a coil or a motor."""
    resistor = Figure(
        of,
        "resistor of the snubber",
        rounded_up(OHM_PER_V[0] * supply_v.in_unit("V")),
        "ohm",
        "0.5 to 1 ohm for each V, the first of the E12 series",
        (supply_v,),
        _RELAY_TEXT,
    )
    wanted_uf = UF_PER_A[0] * load_a.in_unit("A")
    found_uf = next((one for one in E6_UF if one >= wanted_uf * (1 - 1e-9)), wanted_uf)
    capacitor = Figure(
        of,
        "capacitor of the snubber",
        found_uf * 1e-6,
        "F",
        "0.5 to 1 uF for each A, the first of the E6 series; it bears 200 to 300 V",
        (load_a, CAPACITOR),
        _RELAY_TEXT,
    )
    return Snubber(resistor, capacitor)


ARRAY = "ULN2803 datasheets"
ARRAY_OUTPUTS = 8
ARRAY_OUTPUT_A = Given("most of one output", 0.5, "A", ARRAY)
ARRAY_V = Given("most voltage of one output", 50.0, "V", ARRAY)
ARRAY_LOSES = ((0.1, 1.1), (0.2, 1.3), (0.35, 1.6))
"""The most that one output loses (VCE(sat)) by its current, in A and V; on beyond by the last
slope."""

ARRAY_WARMS = Given(
    "package", 55.0, "K/W", "Motorola ULN2803 datasheet, plastic DIP, junction to air"
)
ARRAY_HOTTEST = Given("hottest junction", 125.0, "C", "Motorola ULN2803 datasheet")


def array_loses_v(output_a: float) -> float:
    """The most that an output of a driver array loses at a current, in V."""
    (x0, y0), (x1, y1) = ARRAY_LOSES[-2:]
    if output_a > x1:
        return y1 + (y1 - y0) * (output_a - x1) / (x1 - x0)
    return straight(ARRAY_LOSES, output_a)


@dataclass(frozen=True)
class Array:
    """A driver array with its worst currents: the heat in it, and how hot its chip becomes."""

    heat: Figure
    junction: Figure

    @property
    def bears_it(self) -> bool:
        """Whether the chip stays below its hottest."""
        return self.junction.value <= ARRAY_HOTTEST.value


def driver_array(of: str, outputs_a: Sequence[Input], ambient_c: Input) -> Array:
    """The heat of a driver array whose outputs carry these currents at the same time."""
    watts = sum(one.in_unit("A") * array_loses_v(one.value) for one in outputs_a)
    heat = Figure(
        of,
        "heat in the driver array",
        watts,
        "W",
        "P = sum of I * VCE(sat) at I",
        tuple(outputs_a),
        f"{ARRAY}: VCE(sat) at most 1.1 V at 100 mA, 1.3 V at 200 mA, 1.6 V at 350 mA",
    )
    junction = Figure(
        of,
        "chip of the driver array",
        ambient_c.in_unit("C") + ARRAY_WARMS.value * watts,
        "C",
        "T = surroundings + 55 K/W * P",
        (ambient_c, ARRAY_WARMS, heat),
        ARRAY_WARMS.source,
    )
    return Array(heat, junction)
