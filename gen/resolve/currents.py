"""What the chip's pins carry, held against its datasheet.

The worst moment is summed: every output on, and of a pair, which never has both on, the heavier
side. A pin that switches its load to 0 V sinks its current, one that switches it to 5 V sources it.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from gen.diagnostics import Severity, show
from gen.units import decimal_text

if TYPE_CHECKING:
    from collections.abc import Sequence

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
    for sinks, way, groups in ((True, "sink", limits.sink), (False, "source", limits.source)):
        these = [burden for burden in burdens if burden.sinks is sinks]
        for group in groups:
            inside = [b for b in these if f"{b.pin.port}{b.pin.bit}" in group.places]
            _check_sum(
                inside,
                group.most_ma,
                problems,
                code="group-current",
                what=f"the pins {group.text} together would {way} more than the chip allows",
                clause=group.clause,
            )
        _check_sum(
            these,
            limits.chip_ma,
            problems,
            code="chip-current",
            what=f"all pins together would {way} more than the chip allows",
            clause=limits.chip_clause,
        )


def _check_sum(
    burdens: Sequence[Burden],
    most_ma: int,
    problems: Problems,
    *,
    code: str,
    what: str,
    clause: str,
) -> None:
    total = _worst(burdens)
    if total <= most_ma:
        return
    ordered = sorted(burdens, key=lambda burden: burden.place)
    over = next(n for n in range(1, len(ordered) + 1) if _worst(ordered[:n]) > most_ma)
    problems.add(
        code,
        ordered[over - 1].place,
        what,
        got=f"{decimal_text(total)} mA",
        expected=f"at most {most_ma} mA",
        hint=clause,
    )


def _worst(burdens: Sequence[Burden]) -> Decimal:
    """The sum with every output on, of each pair its heavier pin."""
    heaviest: dict[str, Decimal] = {}
    for burden in burdens:
        so_far = heaviest.get(burden.output, burden.draws_ma)
        heaviest[burden.output] = max(so_far, burden.draws_ma)
    return sum(heaviest.values(), Decimal(0))
