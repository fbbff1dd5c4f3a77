"""What the chip's pins carry, held against its datasheet.

The worst moment is summed: every output on, and of a pair, which never has both on, the heavier
side. A pin that switches its load to 0 V sinks its current, one that switches it to 5 V sources it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from gen.diagnostics import Severity, show
from gen.units import decimal_text

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.boards import Board
    from gen.diagnostics import Problems
    from gen.resolve.outputs import Burden


def check_currents(burdens: Sequence[Burden], board: Board, problems: Problems) -> None:
    """Notes every pin, group of pins and chip that would carry too much."""
    limits = board.limits
    for burden in burdens:
        label = f"output {show(burden.output)}: {burden.pin.name}"
        got = f"{decimal_text(burden.draws_ma)} mA"
        if burden.draws_ma > limits.pin_absolute_ma:
            problems.add(
                "pin-current",
                burden.place,
                f"{label} would carry more than destroys it",
                got=got,
                expected=f"at most {limits.pin_absolute_ma} mA",
                hint=limits.pin_clause,
            )
        elif burden.draws_ma > limits.pin_guaranteed_ma:
            problems.add(
                "pin-current-high",
                burden.place,
                f"{label} carries more than its level is guaranteed at",
                got=got,
                expected=f"at most {limits.pin_guaranteed_ma} mA",
                hint=limits.pin_clause,
                severity=Severity.WARNING,
            )
    for total in totals_of(burdens, board):
        if total.ma > total.most_ma:
            ordered = sorted(total.burdens, key=lambda burden: burden.place)
            over = next(
                n for n in range(1, len(ordered) + 1) if worst_ma(ordered[:n]) > total.most_ma
            )
            problems.add(
                "group-current" if total.is_group else "chip-current",
                ordered[over - 1].place,
                f"{total.said} together would {total.way} more than the chip allows",
                got=f"{decimal_text(total.ma)} mA",
                expected=f"at most {total.most_ma} mA",
                hint=total.clause,
            )


@dataclass(frozen=True)
class Total:
    """What pins that share a limit carry together: those of a group (`is_group`), or all that sink
    or source."""

    pins: str
    way: str
    is_group: bool
    burdens: tuple[Burden, ...]
    most_ma: int
    clause: str

    @property
    def ma(self) -> Decimal:
        """In the worst moment."""
        return worst_ma(self.burdens)

    @property
    def said(self) -> str:
        """The pins in a sentence."""
        return f"the pins {self.pins}" if self.is_group else "all pins"


def totals_of(burdens: Sequence[Burden], board: Board) -> Iterator[Total]:
    """Every sum that the chip limits."""
    limits = board.limits
    for sinks, way, groups in ((True, "sink", limits.sink), (False, "source", limits.source)):
        these = tuple(burden for burden in burdens if burden.sinks is sinks)
        for group in groups:
            inside = tuple(b for b in these if f"{b.pin.port}{b.pin.bit}" in group.places)
            yield Total(group.text, way, True, inside, group.most_ma, group.clause)
        yield Total(board.chip, way, False, these, limits.chip_ma, limits.chip_clause)


def worst_ma(burdens: Sequence[Burden]) -> Decimal:
    """The sum with every output on, of each pair its heavier pin."""
    heaviest: dict[str, Decimal] = {}
    for burden in burdens:
        so_far = heaviest.get(burden.output, burden.draws_ma)
        heaviest[burden.output] = max(so_far, burden.draws_ma)
    return sum(heaviest.values(), Decimal(0))
