"""A number that can be explained: what it is of, how it was come by, and from what.

A sum takes what it is given (`Given`: a line of the ship file, a clause of a standard) and what
other sums found (`Figure`), and returns a `Figure` that holds on to both, so that whoever doubts a
number on paper can follow it down to where it comes from.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

MEMORY = "(from memory)"
"""Stands behind a source that could not be looked up when its value was written down."""

PRACTICE = "common practice, no source"
"""The source of what the trade does and no document says."""

_PREFIXES = {
    "A": {"m": -3},
    "V": {"m": -3},
    "W": {"m": -3},
    "ohm": {"M": 6, "k": 3, "m": -3},
    "F": {"u": -6, "n": -9, "p": -12},
    "m": {"m": -3},
    "Nm": {"m": -3},
}
"""The prefixes with which each unit is shown, and their powers of ten. Other units have none."""


class _Amount:
    """What a given number and a computed one have in common; each says in which order."""

    value: float
    unit: str

    def in_unit(self, unit: str) -> float:
        """Its value, for a sum that reckons in `unit`. Raises ValueError if it has another: no sum
        converts anything."""
        if self.unit != unit:
            raise ValueError(f"needs {unit or 'a plain number'}, not {self.unit or 'one'}")
        return self.value


@dataclass(frozen=True)
class Given(_Amount):
    """An input of a sum. `source` is where it stands: "skerry.yaml:31", "IEC 60228, class 5",
    "common practice, no source"."""

    name: str
    value: float
    unit: str
    source: str

    @property
    def label(self) -> str:
        """What it is called in a formula's list of inputs."""
        return self.name

    def shown(self) -> str:
        """As it was given, to six figures: "14.35 V"."""
        return shown(self.value, self.unit, 6)


@dataclass(frozen=True)
class Figure(_Amount):
    """What a sum found. `of` is whose it is ("davit", "deckhouse plug"), `what` what it is ("worst
    current"), `formula` how it follows from `given`, and `source` whose formula that is."""

    of: str
    what: str
    value: float
    unit: str
    formula: str
    given: tuple[Given | Figure, ...]
    source: str

    @property
    def label(self) -> str:
        """What it is called in a formula's list of inputs."""
        return f"{self.of}: {self.what}"

    def shown(self) -> str:
        """Rounded to three figures, with its unit: "1.52 A"."""
        return shown(self.value, self.unit)


@dataclass(frozen=True)
class Refused:
    """A sum that would have been a guess: `why` says what it would take instead, in a sentence."""

    of: str
    what: str
    why: str
    given: tuple[Given | Figure, ...]


Input = Given | Figure
"""What a sum takes: both have a value, a unit and a source."""


def shown(value: float, unit: str = "", figures: int = 3) -> str:
    """A number as people read it: so many significant figures, halves away from zero, no zeros that
    say nothing, the usual prefix of its unit ("47 mA"). What never ends is "∞".
    """
    if math.isnan(value):
        raise ValueError(f"a {unit or 'number'} that is none cannot be shown")
    if math.isinf(value):
        return f"{'-' if value < 0 else ''}∞ {unit}".rstrip()
    rounded = _rounded(Decimal(repr(float(value))), figures)
    prefix, power = _prefix(rounded, unit)
    text = f"{rounded.scaleb(-power):f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text} {prefix}{unit}".rstrip()


def _rounded(size: Decimal, figures: int) -> Decimal:
    if not size:
        return Decimal(0)
    last = Decimal(1).scaleb(size.adjusted() - figures + 1)
    return size.quantize(last, ROUND_HALF_UP)


def _prefix(size: Decimal, unit: str) -> tuple[str, int]:
    """The prefix with which one to three figures stand before the point, as far as there is one."""
    known = {"": 0, **_PREFIXES.get(unit, {})}
    if not size:
        return "", 0
    fitting = [one for one in known.items() if one[1] <= size.adjusted()]
    return (
        max(fitting, key=lambda one: one[1]) if fitting else min(known.items(), key=lambda o: o[1])
    )
