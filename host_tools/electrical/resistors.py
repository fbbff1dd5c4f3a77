"""Resistors: values that can be bought, and those for LEDs, transistors and a battery's divider.

Values are rounded up, never down: more resistance is less current. The power rating is twice
what is burnt. LEDs are reckoned at the highest voltage that their supply ever has, which of a
battery is the one when it has just been charged.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from host_tools.electrical.figure import MEMORY, PRACTICE, Figure, Given, Input, Refused

E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
E24 = (
    *(10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30),
    *(33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91),
)
"""IEC 60063: the preferred values of a decade."""

RATINGS_W = (0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0)
"""Ratings that shops have (common practice, no source)."""

DERATING = Given("rating / power", 2.0, "", f"a resistor is used at half its rating: {PRACTICE}")

HEADROOM = Given(
    "share of the supply on the resistor",
    10.0,
    "%",
    f"below this the brightness follows every tenth of a volt: {PRACTICE}",
)

BASE_VOLTAGE = Given("base voltage", 0.8, "V", f"silicon transistor that is driven hard {MEMORY}")
FORCED_GAIN = Given(
    "forced gain", 10.0, "", "transistor datasheets: VCE(sat) at IC / IB = 10 (from memory)"
)
PULL_DOWN_OHM = Given(
    "pull-down", 10_000.0, "ohm", f"keeps a gate off while the board starts: {PRACTICE}"
)


def rounded_up(ohm: float, series: tuple[int, ...] = E12) -> float:
    """The smallest value of a series (IEC 60063) that is no smaller; `ohm` is above 0. What lies
    above one by less than a millionth is that value: it is noise of the arithmetic."""
    wanted = Decimal(repr(ohm)) * (1 - Decimal("1e-6"))
    decade = wanted.adjusted() - 1
    values = [Decimal(value).scaleb(decade) for value in (*series, 100)]
    return float(next(value for value in values if value >= wanted))


def rating_w(power_w: float) -> float:
    """The smallest rating that bears this power at half of what it could; more than the largest
    needs several, and is returned as it is."""
    wanted = DERATING.value * power_w * (1 - 1e-9)
    return next((rating for rating in RATINGS_W if rating >= wanted), DERATING.value * power_w)


@dataclass(frozen=True)
class Resistor:
    """One to buy: `exact` is what the sum wants, `value` what there is, `power` what it burns at
    most and `rating` how much it must bear."""

    exact: Figure
    value: Figure
    power: Figure
    rating: Figure


def bought(of: str, exact: Figure, across_v: Input, series: tuple[int, ...] = E12) -> Resistor:
    """The resistor to buy for an exact value, with at most `across_v` across it."""
    value = Figure(
        of,
        "resistor",
        rounded_up(exact.in_unit("ohm"), series),
        "ohm",
        f"rounded up to the E{len(series)} series",
        (exact,),
        "IEC 60063",
    )
    power = Figure(
        of,
        "power in the resistor",
        across_v.in_unit("V") ** 2 / value.value,
        "W",
        "P = U^2 / R",
        (across_v, value),
        "Ohm's law",
    )
    rating = Figure(
        of,
        "rating of the resistor",
        rating_w(power.value),
        "W",
        "the next rating above 2 * P",
        (power, DERATING),
        PRACTICE,
    )
    return Resistor(exact, value, power, rating)


@dataclass(frozen=True)
class Leds:
    """A string of LEDs on its resistor: its current at the highest voltage and at the nominal one.
    `steady` tells whether enough of the voltage is on the resistor to hold the current."""

    resistor: Resistor
    most: Figure
    nominal: Figure
    steady: bool


def leds(
    of: str, *, highest_v: Input, nominal_v: Input, each_v: Input, in_a_row: Input, current_a: Input
) -> Leds | Refused:
    """The resistor of a string of LEDs: R = (U - n * UF) / I at the highest voltage."""
    forward_v = in_a_row.in_unit("") * each_v.in_unit("V")
    left_v = highest_v.in_unit("V") - forward_v
    if left_v <= 0 or nominal_v.in_unit("V") <= forward_v:
        why = f"{in_a_row.value:g} in a row need {forward_v:.3g} V: more than the supply has"
        return Refused(of, "resistor", why, (highest_v, nominal_v, each_v, in_a_row))
    across = Figure(
        of,
        "voltage on the resistor",
        left_v,
        "V",
        "U = highest voltage - n * forward voltage",
        (highest_v, in_a_row, each_v),
        "Kirchhoff's voltage law",
    )
    exact = Figure(
        of,
        "exact resistor",
        left_v / current_a.in_unit("A"),
        "ohm",
        "R = U / I",
        (across, current_a),
        "Ohm's law",
    )
    resistor = bought(of, exact, across)
    most = Figure(
        of,
        "current of a string at the highest voltage",
        left_v / resistor.value.value,
        "A",
        "I = (U - n * UF) / R",
        (across, resistor.value),
        "Ohm's law",
    )
    nominal = Figure(
        of,
        "current of a string",
        (nominal_v.value - forward_v) / resistor.value.value,
        "A",
        "I = (U - n * UF) / R",
        (nominal_v, in_a_row, each_v, resistor.value),
        "Ohm's law",
    )
    share = 100 * (nominal_v.value - forward_v) / nominal_v.value
    return Leds(resistor, most, nominal, share >= HEADROOM.value)


@dataclass(frozen=True)
class Switch:
    """A transistor between a pin and a load. `bipolar` with its base resistor; else the pin cannot
    drive one hard enough, and a logic-level field-effect transistor takes its place, with the
    resistor to its gate and one that holds it off while the board starts."""

    bipolar: bool
    base_a: Figure
    resistor: Resistor
    pull_down: Given | None


def switch(of: str, load_a: Input, *, pin_v: Input, pin_a: Input) -> Switch:
    """What stands between a pin of `pin_v`, which gives `pin_a` with its level guaranteed, and the
    `load_a` that it switches to 0 V."""
    base = Figure(
        of,
        "base current",
        load_a.in_unit("A") / FORCED_GAIN.value,
        "A",
        "IB = IC / 10",
        (load_a, FORCED_GAIN),
        FORCED_GAIN.source,
    )
    if base.value <= pin_a.in_unit("A"):
        across = Figure(
            of,
            "voltage on the base resistor",
            pin_v.in_unit("V") - BASE_VOLTAGE.value,
            "V",
            "U = pin - base",
            (pin_v, BASE_VOLTAGE),
            "Kirchhoff's voltage law",
        )
        exact = Figure(
            of,
            "exact base resistor",
            across.value / base.value,
            "ohm",
            "R = U / IB",
            (across, base),
            "Ohm's law",
        )
        return Switch(True, base, bought(of, exact, across, E24), None)
    exact = Figure(
        of,
        "exact gate resistor",
        pin_v.in_unit("V") / pin_a.value,
        "ohm",
        "R = U / I: while the gate charges, the pin gives no more than at which its level holds",
        (pin_v, pin_a),
        "Ohm's law",
    )
    return Switch(False, base, bought(of, exact, pin_v), PULL_DOWN_OHM)


@dataclass(frozen=True)
class Divider:
    """A battery's divider: what the pin sees when the battery is full, and what it always draws."""

    upper: Figure
    at_pin: Figure
    draws: Figure


def divider(of: str, upper_ohm: Input, lower_ohm: Input, highest_v: Input) -> Divider:
    """What a divider does: the upper resistor is to the battery, the lower one to 0 V."""
    upper, lower = upper_ohm.in_unit("ohm"), lower_ohm.in_unit("ohm")
    at_pin = Figure(
        of,
        "voltage at the pin with the battery full",
        highest_v.in_unit("V") * lower / (upper + lower),
        "V",
        "U = Ubattery * lower / (upper + lower)",
        (highest_v, lower_ohm, upper_ohm),
        "Ohm's law",
    )
    draws = Figure(
        of,
        "current of the divider",
        highest_v.value / (upper + lower),
        "A",
        "I = U / (upper + lower)",
        (highest_v, upper_ohm, lower_ohm),
        "Ohm's law",
    )
    chosen = Figure(of, "upper resistor", upper, "ohm", "as given", (upper_ohm,), upper_ohm.source)
    return Divider(chosen, at_pin, draws)


def proposed_divider(of: str, lower_ohm: Input, highest_v: Input, range_v: Input) -> Divider:
    """The smallest upper resistor with which a full battery stays within the converter's range,
    with both resistors 5 % off the wrong way."""
    spread = Given("tolerance", 1.05 / 0.95, "", "both resistors 5 % off (IEC 60063, E24)")
    least = (
        spread.value
        * lower_ohm.in_unit("ohm")
        * max(highest_v.in_unit("V") / range_v.in_unit("V") - 1, 0)
    )
    exact = Figure(
        of,
        "exact upper resistor",
        least,
        "ohm",
        "upper = 1.05 / 0.95 * lower * (U / range - 1)",
        (spread, lower_ohm, highest_v, range_v),
        "Ohm's law",
    )
    upper = Figure(
        of,
        "upper resistor",
        rounded_up(least, E24) if least > 0 else 0.0,
        "ohm",
        "rounded up to the E24 series",
        (exact,),
        "IEC 60063",
    )
    made = divider(of, upper, lower_ohm, highest_v)
    return Divider(upper, made.at_pin, made.draws)
