"""What one subject has found out about a ship."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.electrics import Part

if TYPE_CHECKING:
    from collections.abc import Iterable

    from host_tools.electrical.electrics import Finding, Winch
    from host_tools.electrical.figure import Figure


@dataclass(frozen=True)
class Found:
    """Winches, further figures, parts to buy, and what is unsafe or unwise."""

    figures: tuple[Figure, ...] = ()
    parts: tuple[Part, ...] = ()
    findings: tuple[Finding, ...] = ()
    winches: tuple[Winch, ...] = ()


def together(found: Iterable[Found]) -> Found:
    """All of it as one; the same part for several things is one row."""
    figures: list[Figure] = []
    findings: list[Finding] = []
    parts: list[Part] = []
    winches: list[Winch] = []
    for one in found:
        figures += one.figures
        parts += one.parts
        findings += one.findings
        winches += one.winches
    return Found(tuple(figures), alike(parts), tuple(findings), tuple(winches))


def alike(parts: Iterable[Part]) -> tuple[Part, ...]:
    """The rows of a shopping list: the same part once, with the quantities added and all that it is
    for, in the order in which they first come."""
    quantities: defaultdict[tuple[str, str], int] = defaultdict(int)
    uses: defaultdict[tuple[str, str], dict[str, None]] = defaultdict(dict)
    for part in parts:
        quantities[part.what, part.spec] += part.quantity
        uses[part.what, part.spec] |= dict.fromkeys(part.for_)
    return tuple(
        Part(what, quantity, spec, tuple(uses[what, spec]))
        for (what, spec), quantity in quantities.items()
    )
