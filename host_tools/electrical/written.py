"""What the owner wrote, as inputs of sums: in their units, each with its line of the ship file."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import Given

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.diagnostics import Place
    from gen.read.keys import Located

_PARTS = {"A": 1000, "V": 1000, "m": 1000, "Nm": 1000, "Ah": 1000}
"""How many of what the reader gives (mA, mV, mm …) make one of these; of others one does."""


@dataclass(frozen=True)
class Written:
    """A ship file's values by its name, such as "skerry.yaml"."""

    file: str

    def at(self, place: Place) -> str:
        """A place as a source: "skerry.yaml:31"."""
        return f"{self.file}:{place.line}"

    def given(self, name: str, written: Located[Decimal] | Located[int], unit: str) -> Given:
        """A value as an input called `name`, in `unit`."""
        return self.number(name, float(written.value / _PARTS.get(unit, 1)), unit, written.place)

    def number(self, name: str, value: float, unit: str, place: Place) -> Given:
        """A value that is in its unit already."""
        return Given(name, value, unit, self.at(place))
