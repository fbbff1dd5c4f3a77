"""How the owner wants wires to be judged: the sizes at hand, the column, the heat, the drop."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import WHOLE_FILE, Problems
from gen.electric import WiresItem
from gen.nodes import MapNode
from gen.read.keys import read_record
from host_tools.electrical.figure import PRACTICE, Given
from host_tools.electrical.wire import SIZES, Column, Size

if TYPE_CHECKING:
    from gen.read.kinds import WireSize
    from gen.ship import Ship

LEAST_MM2 = 0.25
"""Unless the ship file says what is at hand, nothing thinner is proposed: it breaks where it bends
(common practice, no source)."""


@dataclass(frozen=True)
class WireRules:
    """`have` are sizes that stand in `source`, the thinnest first."""

    have: tuple[Size, ...]
    source: str
    column: Column
    temperature: Given
    drop: Given

    @property
    def thickest(self) -> Size:
        """The largest at hand."""
        return self.have[-1]


def wire_rules(ship: Ship, source: str) -> WireRules:
    """Those of a ship; `source` is its file's name."""
    item = ship.wires
    if item is None:
        item = read_record(WiresItem, MapNode(WHOLE_FILE, ()), "", Problems(source))
        assert item is not None  # noqa: S101 - every key of it has a default
    stands = item.place.line

    def at(line: int) -> str:
        return f"{source}:{line}" if line not in (0, stands) else f"unless given: {PRACTICE}"

    have = tuple(size for size in SIZES if size.mm2 >= LEAST_MM2)
    where = f"sizes that shops have: {PRACTICE}"
    if item.have is not None:
        have = tuple(sorted((size_of(one.value) for one in item.have), key=lambda one: one.mm2))
        where = f"{source}:{item.have[0].place.line}"
    return WireRules(
        have,
        where,
        Column(item.ampacity.value),
        Given("temperature", float(item.temperature.value), "C", at(item.temperature.place.line)),
        Given("allowed drop", float(item.drop.value), "%", at(item.drop.place.line)),
    )


def size_of(written: WireSize) -> Size:
    """A size as the owner wrote it."""
    if written.awg is not None:
        return Size.awg(written.awg)
    assert written.mm2 is not None  # noqa: S101 - one of the two is always given
    return Size.metric(float(written.mm2))
