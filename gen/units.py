"""Quantities as people write them, in decimal arithmetic, converted once at the edge.

A binary fraction cannot hold 0.1, so floating point takes no part in any of this.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from gen.plan import HALF_US_PER_US, TICK_US

_NUMBER = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"
_QUANTITY = re.compile(rf"([+-]?{_NUMBER})\s*(.*)", re.DOTALL)
_RANGE = re.compile(r"(.*?)\s*\.\.\s*(.*)", re.DOTALL)


class Wrong(ValueError):  # noqa: N818 - reads as a sentence where it is raised
    """A text is not what its place wants: a code, what is wrong, what was expected, a hint."""

    def __init__(self, code: str, what: str, expected: str = "", hint: str = "") -> None:
        super().__init__(what)
        self.code = code
        self.what = what
        self.expected = expected
        self.hint = hint


@dataclass(frozen=True, slots=True)
class Measure:
    """One kind of quantity: the word for it, an example, and each unit's size in the first one."""

    words: str
    example: str
    units: dict[str, Decimal]

    @property
    def expected(self) -> str:
        """What a message says was expected."""
        return f"{self.words} such as {self.example}"


def _measure(words: str, example: str, **units: str) -> Measure:
    return Measure(words, example, {unit: Decimal(size) for unit, size in units.items()})


TIME = _measure("a time", "0.5 s", us="1", ms="1000", s="1000000", min="60000000")
WIDTH = _measure("a pulse width", "1500 us", us="1", ms="1000")
CURRENT = _measure("a current", "0.8 A", mA="1", A="1000")
VOLTAGE = _measure("a voltage", "12 V", mV="1", V="1000")
CHARGE = _measure("a capacity", "7 Ah", mAh="1", Ah="1000")
FREQUENCY = _measure("a frequency", "50 Hz", Hz="1", kHz="1000")
RESISTANCE = _measure("a resistance", "47k", ohm="1", kohm="1000", Mohm="1000000")
SMALL_RESISTANCE = _measure("a resistance", "30 mOhm", mOhm="1", ohm="1000")
AREA = _measure("a wire's cross section", "0.25 mm2", mm2="1")
GAUGE = _measure("a wire gauge", "20 AWG", AWG="1")
ROTATION = _measure("a speed", "6000 rpm", rpm="1")
TORQUE = _measure("a torque", "4 mNm", mNm="1", Ncm="10", Nm="1000")
HOURS = _measure("a time", "20 h", h="1")
TEMPERATURE = _measure("a temperature", "40 C", C="1")
LENGTH = _measure("a length", "0.6 m", mm="1", cm="10", m="1000")
ANGLE = _measure("an angle", "90 deg", deg="1")
PERCENT = Measure("a percentage", "88 %", {"%": Decimal(1)})
TURN_SPEED = Measure("a turning speed", "60 deg/s", {"deg/s": Decimal(1)})
WIDTH_SPEED = Measure("a speed of the pulse width", "500 us/s", {"us/s": Decimal(1)})
PULSES = Measure("a number of pulses", "3 pulses", {"pulses": Decimal(1), "pulse": Decimal(1)})
SLOTS = Measure("a number of slots", "8 slots", {"slots": Decimal(1), "slot": Decimal(1)})

_DIVIDER = re.compile(r"(.*?)\s*/\s*(.*)", re.DOTALL)

MOST_OHM = 10_000_000

_OTHER_SPELLINGS = {
    "\u00b5s": "us",  # micro sign
    "\u03bcs": "us",  # Greek small mu
    "mm²": "mm2",
    "\u03a9": "ohm",  # Greek capital omega
    "\u2126": "ohm",  # ohm sign
    "k\u03a9": "kohm",
    "k\u2126": "kohm",
    "k": "kohm",
    "M": "Mohm",
    "mohm": "mOhm",
    "m\u03a9": "mOhm",
    "m\u2126": "mOhm",
    "Ohm": "ohm",
    "°C": "C",
    "°/s": "deg/s",
    "°": "deg",
}
_MEANT = {
    **dict.fromkeys(("sec", "secs", "second", "seconds", "S"), "s"),
    **dict.fromkeys(("msec", "millisecond", "milliseconds", "mS", "MS"), "ms"),
    **dict.fromkeys(("usec", "microsecond", "microseconds", "uS", "US"), "us"),
    **dict.fromkeys(("m", "minute", "minutes", "mins"), "min"),
    **dict.fromkeys(("amp", "amps", "ampere", "a"), "A"),
    **dict.fromkeys(("ma", "MA", "milliamps"), "mA"),
    **dict.fromkeys(("v", "volt", "volts"), "V"),
    **dict.fromkeys(("ah", "AH"), "Ah"),
    **dict.fromkeys(("mah", "MAH", "mAH"), "mAh"),
    **dict.fromkeys(("hz", "HZ"), "Hz"),
    **dict.fromkeys(("percent", "pct"), "%"),
    **dict.fromkeys(("degrees", "degree"), "deg"),
    **dict.fromkeys(("degrees/s", "deg/sec"), "deg/s"),
}
"""Units that people write by mistake, and what they meant; only ever used in a hint."""


def quantity(text: str, *measures: Measure) -> tuple[Decimal, Measure]:
    """The size of a quantity in the first unit of its measure, one of `measures`.

    Raises Wrong: `wrong-number` if it has no number or a signed one, `wrong-unit` otherwise.
    """
    expected = " or ".join(measure.expected for measure in measures)
    match = _QUANTITY.fullmatch(text)
    if match is None:
        hint = "write a decimal point: 1.5" if re.match(r"[0-9]+,[0-9]", text) else ""
        raise Wrong("wrong-number", "needs a number and a unit", expected, hint)
    number, unit = match.groups()
    if number.startswith(("+", "-")):
        raise Wrong("wrong-number", "takes no sign", expected)
    unit = _OTHER_SPELLINGS.get(unit, unit)
    for measure in measures:
        if unit in measure.units:
            return Decimal(number) * measure.units[unit], measure
    if not unit:
        usual = measures[0].example.partition(" ")[2]
        hint = f"write for example {number} {usual}" if usual else ""
        raise Wrong("wrong-unit", "needs a unit", expected, hint)
    if re.match(r",[0-9]", unit):
        raise Wrong("wrong-number", "needs a decimal point", expected, "write a decimal point: 1.5")
    meant = _MEANT.get(unit)
    known = any(meant in measure.units for measure in measures)
    hint = f"write {number} {meant}" if known else ""
    raise Wrong("wrong-unit", "has the wrong unit", expected, hint)


def half_us(text: str) -> int:
    """A pulse width in half microseconds. Raises Wrong; `wrong-grain` between two of them."""
    size_us, _ = quantity(text, WIDTH)
    return _whole_half_us(size_us)


def half_us_range(text: str) -> tuple[int, int]:
    """A band of widths such as "900..1300 us". Raises Wrong; `upside-down` if it ends before it
    begins."""
    expected = "a band of pulse widths such as 900..1300 us"
    match = _RANGE.fullmatch(text)
    if match is None:
        hint = (
            "write two dots: 900..1300 us"
            if re.search("[0-9] *(-|\u2013|to|\u2026) *[0-9]", text)
            else ""
        )
        raise Wrong("wrong-range", "needs two widths", expected, hint)
    low_text, high_text = match.groups()
    if re.fullmatch(_NUMBER, low_text):
        unit = _QUANTITY.fullmatch(high_text)
        low_text = f"{low_text} {unit.group(2)}" if unit is not None else low_text
    low, high = (_whole_half_us(quantity(side, WIDTH)[0]) for side in (low_text, high_text))
    if low > high:
        raise Wrong(
            "upside-down",
            "ends below its beginning",
            "the lower width first",
            f"write {us_text(high)}..{us_text(low)} us",
        )
    return low, high


def _whole_half_us(size_us: Decimal) -> int:
    halves = size_us * HALF_US_PER_US
    if halves != halves.to_integral_value():
        raise Wrong("wrong-grain", "falls between two steps", "a multiple of 0.5 us")
    if halves > 0xFFFF - 1:
        raise Wrong("out-of-range", "is too wide for a pulse", "at most 32767 us")
    return int(halves)


def divider(text: str) -> tuple[Decimal, Decimal]:
    """The two resistances of a divider such as "47k/10k" in ohm: to the voltage that is measured,
    and to 0 V. Raises Wrong."""
    match = _DIVIDER.fullmatch(text)
    if match is None:
        raise Wrong("wrong-divider", "needs two resistances", "a divider such as 47k/10k")
    upper, lower = (quantity(side, RESISTANCE)[0] for side in match.groups())
    if not (0 <= upper <= MOST_OHM and 0 < lower <= MOST_OHM):
        bounds = f"at most {MOST_OHM} ohm each, and the second above 0"
        raise Wrong("out-of-range", "is out of range", bounds)
    return upper, lower


def ticks(size_us: Decimal) -> int:
    """The number of ticks nearest to a time, at most half a tick (2.5 ms) away; halves go up."""
    return int((size_us / TICK_US).to_integral_value(ROUND_HALF_UP))


def us_text(half_us: int) -> str:
    """A width in microseconds as people write it: "1500", "1500.5"."""
    whole, half = divmod(half_us, HALF_US_PER_US)
    return f"{whole}.5" if half else str(whole)


def decimal_text(size: Decimal) -> str:
    """A number without an exponent and without zeros that say nothing."""
    text = f"{size:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
