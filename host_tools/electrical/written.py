"""What the owner wrote, as inputs of sums: in their units, each with its line of the ship file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from host_tools.electrical.figure import PRACTICE, Given

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.diagnostics import Place
    from gen.read.keys import Located, Record

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

    def usual(
        self,
        name: str,
        written: Located[Decimal] | Located[int],
        unit: str,
        record: Record,
        source: str = PRACTICE,
    ) -> Given:
        """The same for a key of `record` that may be left out: what is then taken is not the
        owner's word but that of `source`."""
        given = self.given(name, written, unit)
        # What is left out stands, for the reader, where its record begins.
        left_out = written.place == record.place
        return replace(given, source=f"unless given: {source}") if left_out else given

    def number(self, name: str, value: float, unit: str, place: Place) -> Given:
        """A value that is in its unit already."""
        return Given(name, value, unit, self.at(place))
