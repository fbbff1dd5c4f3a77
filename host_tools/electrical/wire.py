"""Wires: cross section, resistance, voltage drop, and what current they carry.

Copper is IEC 60028's. The wires of a ship are flexible, so their resistance is the most that IEC
60228 allows a flexible conductor (class 5), which is 11 to 16 % above that of the bare copper;
sums that reckon with bare copper, or with the 0.0164 of ISO 10133, understate every drop.

What current a wire carries is a rule of thumb, and there are two that differ by a factor of seven:
alone in free air, and within a bundle. Every figure says which.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from host_tools.electrical.figure import MEMORY, Figure, Given, Input
from host_tools.electrical.interpolate import power_law, straight

COPPER = Given("rho", 1 / 58, "ohm mm2/m", "IEC 60028: copper at 20 C")
"""Resistivity of annealed copper."""

WARMING = Given("alpha", 0.00393, "1/K", "IEC 60028: copper at 20 C")
"""By how much its resistance grows with each kelvin."""

CLASS_5_OHM_PER_KM = (
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
)
"""IEC 60228, class 5, plain copper: the most at 20 C by cross section in mm2; from 4 mm2 up from
memory. The standard begins at 0.5 mm2."""

_FLEXIBLE = tuple(
    (math.log(mm2), ohm_per_km * mm2 / 1000 / COPPER.value)
    for mm2, ohm_per_km in CLASS_5_OHM_PER_KM
)

CIRCULAR_MILS_PER_A = Given(
    "circular mils", 700.0, "1/A", "Handbook of Electronic Tables and Formulas: power transmission"
)
MM2_PER_CIRCULAR_MIL = math.pi / 4 * 0.0254**2

FREE_AIR_A = (
    (30, 0.86),
    (28, 1.4),
    (26, 2.2),
    (24, 3.5),
    (22, 7.0),
    (20, 11.0),
    (18, 16.0),
    (16, 22.0),
    (14, 32.0),
    (12, 41.0),
    (10, 55.0),
)
"""Handbook of Electronic Tables and Formulas, column "chassis wiring", by AWG; 12 and 10 from
memory."""


class Column(Enum):
    """Which rule of thumb says what a wire carries."""

    FREE_AIR = "free air"
    BUNDLE = "bundle"


@dataclass(frozen=True)
class Size:
    """A wire that can be bought: its cross section, and what it is called."""

    mm2: float
    name: str

    @classmethod
    def awg(cls, gauge: int) -> Size:
        """A wire by its gauge; 0 is 1/0, -1 is 2/0."""
        return cls(awg_mm2(gauge), f"AWG {gauge if gauge >= 0 else f'{1 - gauge}/0'}")

    @classmethod
    def metric(cls, mm2: float) -> Size:
        """A wire by its cross section."""
        return cls(mm2, f"{mm2:g} mm2")


SIZES = tuple(map(Size.metric, (0.14, 0.25, 0.34, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0)))
"""What shops have: IEC 60228 from 0.5 mm2, below that by usual cable data (from memory)."""


def awg_diameter_mm(gauge: int) -> float:
    """The diameter of a solid wire (ASTM B258): 0.127 mm * 92^((36 - n) / 39), 1/0 being 0."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_mm2(gauge: int) -> float:
    """The cross section of a gauge in mm2 (ASTM B258)."""
    return math.pi / 4 * awg_diameter_mm(gauge) ** 2


def solid_ohm_per_m(mm2: float) -> float:
    """Resistance of bare copper at 20 C in ohm/m: rho / S (IEC 60028)."""
    return COPPER.value / mm2


def flexible_ohm_per_m(mm2: float) -> float:
    """The most that a flexible wire has at 20 C in ohm/m: IEC 60228 class 5. Between its sizes,
    what it allows above rho / S is interpolated; below 0.5 and above 16 mm2 it is that of the
    end."""
    return solid_ohm_per_m(mm2) * straight(_FLEXIBLE, math.log(mm2))


def bundle_a(mm2: float) -> float:
    """What a wire carries within a bundle, in A: 700 circular mils for each."""
    return mm2 / MM2_PER_CIRCULAR_MIL / CIRCULAR_MILS_PER_A.value


_FREE_AIR_BY_MM2 = tuple((awg_mm2(gauge), amperes) for gauge, amperes in FREE_AIR_A)


def free_air_a(mm2: float) -> float:
    """What a single wire carries in free air, in A; between and beyond the gauges by power law."""
    return power_law(_FREE_AIR_BY_MM2, mm2)


def resistance(of: str, size_mm2: Input, length_m: Input, temperature_c: Input) -> Figure:
    """Of one conductor, at a temperature."""
    ohm = (
        flexible_ohm_per_m(size_mm2.in_unit("mm2"))
        * length_m.in_unit("m")
        * (1 + WARMING.value * (temperature_c.in_unit("C") - 20))
    )
    extra = flexible_ohm_per_m(size_mm2.value) / solid_ohm_per_m(size_mm2.value)
    source = "IEC 60228, class 5 (the most at 20 C)"
    if size_mm2.value < CLASS_5_OHM_PER_KM[0][0]:
        source += f"; below 0.5 mm2 by the same allowance, as usual cable data {MEMORY}"
    return Figure(
        of,
        "resistance one way",
        ohm,
        "ohm",
        "R = rho * f * L / S * (1 + alpha * (t - 20))",
        (COPPER, Given("f", extra, "", source), length_m, size_mm2, WARMING, temperature_c),
        "IEC 60028; IEC 60228",
    )


def drop(of: str, current_a: Input, one_way_ohm: Input) -> Figure:
    """The voltage lost there and back."""
    return Figure(
        of,
        "voltage drop there and back",
        2 * current_a.in_unit("A") * one_way_ohm.in_unit("ohm"),
        "V",
        "U = 2 * I * R",
        (current_a, one_way_ohm),
        "Ohm's law; ISO 10133, annex, with 1/58 in place of its 0.0164, which is 5 % too low",
    )


def one_wire(of: str, what: str, current_a: Input, ohm: Input) -> Figure:
    """The voltage lost on one wire."""
    lost = current_a.in_unit("A") * ohm.in_unit("ohm")
    return Figure(of, what, lost, "V", "U = I * R", (current_a, ohm), "Ohm's law")


def share(of: str, drop_v: Input, supply_v: Input) -> Figure:
    """A drop as a share of the supply it is taken from."""
    return Figure(
        of,
        "voltage drop",
        100 * drop_v.in_unit("V") / supply_v.in_unit("V"),
        "%",
        "100 * drop / supply",
        (drop_v, supply_v),
        "ISO 10133: at most 3 % for navigation lights and pumps, 10 % elsewhere (from memory)",
    )


def ampacity(of: str, size_mm2: Input, column: Column) -> Figure:
    """What a wire carries, by one of the two rules of thumb."""
    mm2 = size_mm2.in_unit("mm2")
    if column is Column.BUNDLE:
        given: tuple[Input, ...] = (size_mm2, CIRCULAR_MILS_PER_A)
        return Figure(
            of,
            "what the wire carries in a bundle",
            bundle_a(mm2),
            "A",
            "I = S / (700 circular mils of 0.000507 mm2)",
            given,
            "Handbook of Electronic Tables and Formulas, power transmission (a rule of thumb)",
        )
    return Figure(
        of,
        "what the wire carries in free air",
        free_air_a(mm2),
        "A",
        "I = table by cross section, power law between its gauges",
        (size_mm2,),
        "Handbook of Electronic Tables and Formulas, chassis wiring (a rule of thumb)",
    )
