"""Batteries: how long one lasts, when it is empty, and what it has when it is full.

Peukert's law, t = H * (C / (I * H))^k, holds for currents that drain the battery in half an hour
to a day. Two datasheets of lead-acid batteries were held against it: from 0.5 to 20 h it is
within 4 %, at 1.3 C it promises a tenth too much, at 5 C twice what there is. So above 1.3 C
there is no answer here; and below the current that the capacity was told for, no more than that
capacity is counted on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import MEMORY, PRACTICE, Figure, Given, Input, Refused
from host_tools.electrical.interpolate import straight

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST_C = Given(
    "largest current of Peukert's law",
    1.3,
    "1/h",
    "datasheet of a 1.3 Ah lead-acid battery: +11 % at 20 min, +28 % at 10 min, +100 % at 3 min",
)
"""Up to this many times its capacity (in A for Ah) the law is within a tenth."""

MOST_ABOVE = Given("most of the charge above it", 10.0, "%", PRACTICE)
"""A day's profile may hold this much of its charge in short peaks above `MOST_C`."""

SECONDS_PER_H = 3600.0


@dataclass(frozen=True)
class Chemistry:
    """What a kind of battery has: per cell the nominal voltage, the one when it is full, and the
    cut-off by current (in multiples of the capacity: up to this, that voltage); the exponent and
    the discharge time in h that hold unless a datasheet says otherwise; and its share of the
    capacity by temperature in C, where a source is known."""

    name: str
    nominal_v: float
    full: Given
    cut_off_v: tuple[tuple[float, float], ...]
    cut_off_source: str
    peukert: Given
    at: Given
    by_temperature: tuple[tuple[float, float], ...] = ()
    temperature_source: str = ""

    def cells(self, nominal_v: float) -> int:
        """How many cells make a battery of this nominal voltage."""
        return max(round(nominal_v / self.nominal_v), 1)


LEAD_ACID = Chemistry(
    "lead-acid",
    2.0,
    Given(
        "full cell", 2.4, "V", "valve-regulated lead-acid: 14.4 V of six cells when just charged"
    ),
    ((0.2, 1.75), (0.5, 1.70), (1.0, 1.65), (2.0, 1.55), (3.0, 1.45)),
    "datasheet of a 12 V valve-regulated battery: 10.5 V up to 0.2 C, 10.2, 9.9, 9.3, 8.7 V at 3 C",
    Given("k", 1.15, "", "1.05 to 1.15 for sealed lead-acid, the cautious end"),
    Given("H", 20.0, "h", "lead-acid capacities are told for 20 h"),
    ((-15.0, 65.0), (0.0, 85.0), (25.0, 100.0), (40.0, 102.0)),
    "datasheet of a valve-regulated lead-acid battery: 102 % at 40 C, 85 % at 0 C, 65 % at -15 C",
)
LIFEPO4 = Chemistry(
    "LiFePO4",
    3.2,
    Given("full cell", 3.65, "V", "LiFePO4 cells: charged to 3.65 V"),
    ((3.0, 2.8),),
    "LiFePO4 cells: cut-off 2.5 to 2.8 V, the cautious end",
    Given("k", 1.05, "", "about 1.05 for lithium cells"),
    Given("H", 5.0, "h", f"IEC 61960: 0.2 It {MEMORY}"),
)
LIPO = Chemistry(
    "LiPo",
    3.7,
    Given("full cell", 4.2, "V", f"LiPo cells: charged to 4.2 V {MEMORY}"),
    ((3.0, 3.3),),
    f"LiPo cells: 3.0 V destroys them, 3.2 to 3.5 V in practice {MEMORY}",
    Given("k", 1.05, "", "about 1.05 for lithium cells"),
    Given("H", 5.0, "h", f"IEC 61960: 0.2 It {MEMORY}"),
)
NIMH = Chemistry(
    "NiMH",
    1.2,
    Given("full cell", 1.45, "V", f"NiMH cells just charged: 1.4 to 1.5 V {MEMORY}"),
    ((3.0, 1.0),),
    f"IEC 61951-2: discharged to 1.0 V {MEMORY}",
    Given("k", 1.10, "", f"NiMH: {PRACTICE}"),
    Given("H", 5.0, "h", f"IEC 61951-2: 0.2 It {MEMORY}"),
)
CHEMISTRIES = {one.name: one for one in (LEAD_ACID, LIFEPO4, LIPO, NIMH)}
"""Each by the word for it in the ship file."""


@dataclass(frozen=True)
class Battery:
    """One battery: its nominal voltage, its capacity in Ah when it is emptied in `at_h` hours, and
    Peukert's exponent. What is not given is its chemistry's."""

    of: str
    chemistry: Chemistry
    nominal_v: Input
    capacity_ah: Input
    at_h: Input
    peukert: Input

    @property
    def cells(self) -> Given:
        """How many cells it has."""
        count = self.chemistry.cells(self.nominal_v.in_unit("V"))
        source = f"nominal voltage / {self.chemistry.nominal_v:g} V of {self.chemistry.name}"
        return Given("cells", count, "", source)


def full_v(battery: Battery) -> Figure:
    """Its voltage just charged, the highest that anything on it must bear."""
    return Figure(
        battery.of,
        "voltage when full",
        battery.cells.value * battery.chemistry.full.value,
        "V",
        "U = cells * full cell",
        (battery.cells, battery.chemistry.full),
        battery.chemistry.full.source,
    )


def cut_off_v(battery: Battery, current_a: Input) -> Figure:
    """Where to stop at this current: below it the battery is damaged. A larger current pulls a
    lead-acid battery lower before it is empty."""
    rate = _multiple(battery, current_a.in_unit("A"))
    steps = battery.chemistry.cut_off_v
    volts = next((volts for up_to, volts in steps if rate <= up_to), steps[-1][1])
    cell = Given("cut-off of a cell", volts, "V", battery.chemistry.cut_off_source)
    return Figure(
        battery.of,
        "cut-off",
        battery.cells.value * volts,
        "V",
        "U = cells * cut-off of a cell at I / C",
        (battery.cells, cell, current_a, battery.capacity_ah),
        battery.chemistry.cut_off_source,
    )


def usable(battery: Battery, temperature_c: Input) -> Figure | Refused:
    """The share of the capacity that is there at a temperature."""
    points = battery.chemistry.by_temperature
    celsius = temperature_c.in_unit("C")
    if not points:
        return Refused(
            battery.of,
            "capacity at a temperature",
            f"no published table for {battery.chemistry.name} is at hand",
            (temperature_c,),
        )
    if celsius < points[0][0]:
        return Refused(
            battery.of,
            "capacity at a temperature",
            f"the table ends at {points[0][0]:g} C",
            (temperature_c,),
        )
    return Figure(
        battery.of,
        "capacity at the temperature",
        straight(points, celsius),
        "%",
        "table by temperature, straight lines between its rows",
        (temperature_c,),
        battery.chemistry.temperature_source,
    )


def hours(battery: Battery, current_a: Input) -> Figure | Refused:
    """How long it gives a steady current (above 0), in h."""
    amperes = current_a.in_unit("A")
    if _multiple(battery, amperes) > MOST_C.value:
        return _too_much(battery, (current_a, battery.capacity_ah, MOST_C))
    return Figure(
        battery.of,
        "endurance",
        _hours(battery, amperes),
        "h",
        "t = H * (C / (I * H))^k; at less than C / H no more than C / I",
        (battery.at_h, battery.capacity_ah, current_a, battery.peukert),
        "Peukert's law",
    )


@dataclass(frozen=True)
class Stretch:
    """A current for a time: one piece of a day's profile. Its current may be 0."""

    current_a: float
    seconds: float


def used(battery: Battery, profile: Sequence[Stretch], source: str) -> Figure | Refused:
    """What share of the battery a profile takes: each stretch its part of the time that the battery
    would last at its current. `source` is where the profile comes from."""
    charge_as = sum(one.current_a * one.seconds for one in profile)
    above_as = sum(
        one.current_a * one.seconds
        for one in profile
        if _multiple(battery, one.current_a) > MOST_C.value
    )
    charge = Given("charge", charge_as / SECONDS_PER_H, "Ah", source)
    above = Given("of it above 1.3 C", 100 * above_as / charge_as if charge_as else 0, "%", source)
    if above.value > MOST_ABOVE.value:
        return _too_much(battery, (charge, above, MOST_ABOVE, battery.capacity_ah, MOST_C))
    share = sum(
        one.seconds / SECONDS_PER_H / _hours(battery, one.current_a)
        for one in profile
        if one.current_a > 0
    )
    return Figure(
        battery.of,
        "part of the battery used",
        100 * share,
        "%",
        "sum of seconds / t(I), t(I) = H * (C / (I * H))^k",
        (charge, above, battery.at_h, battery.capacity_ah, battery.peukert),
        "Peukert's law",
    )


def lasts(
    battery: Battery, profile: Sequence[Stretch], source: str, capacity: Input | None = None
) -> Figure | Refused:
    """How long it lasts when the profile is repeated until it is empty, in h; `capacity` is the
    share of it that is there, in %."""
    part = used(battery, profile, source)
    if isinstance(part, Refused):
        return part
    if not part.value:
        return Refused(battery.of, "endurance", "nothing is drawn from it", (part,))
    profile_h = Given("profile", sum(one.seconds for one in profile) / SECONDS_PER_H, "h", source)
    given: tuple[Input, ...] = (profile_h, part)
    there = 100.0
    if capacity is not None:
        there = capacity.in_unit("%")
        given += (capacity,)
    return Figure(
        battery.of,
        "endurance",
        profile_h.value * there / part.value,
        "h",
        "t = profile * capacity at the temperature / part used",
        given,
        "Peukert's law",
    )


def _multiple(battery: Battery, amperes: float) -> float:
    return amperes / battery.capacity_ah.in_unit("Ah")


def _hours(battery: Battery, amperes: float) -> float:
    at, capacity = battery.at_h.in_unit("h"), battery.capacity_ah.in_unit("Ah")
    rated_a = capacity / at
    if amperes <= rated_a:
        return capacity / amperes
    return at * float((rated_a / amperes) ** battery.peukert.in_unit(""))


def _too_much(battery: Battery, given: tuple[Input, ...]) -> Refused:
    most_a = MOST_C.value * battery.capacity_ah.value
    why = (
        f"more than 1.3 C ({most_a:.3g} A) is drawn, where Peukert's law promises more than the"
        " battery has: take a larger battery, or its maker's curve for that current"
    )
    return Refused(battery.of, "endurance", why, given)
