"""What the board's pins, its port groups and its chip carry, beside what the datasheet allows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.resolve.currents import totals_of, worst_ma
from host_tools.electrical.electrics import PinRow
from host_tools.electrical.figure import Figure, Given

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.boards import Board
    from gen.resolve.outputs import Burden

MA_PER_A = 1000


def pin_rows(burdens: Sequence[Burden], board: Board, source: str) -> tuple[PinRow, ...]:
    """A row for each pin that carries something, each group with such pins, and the whole chip."""
    return (*_pins(burdens, board, source), *_groups(burdens, board, source))


def _pins(burdens: Sequence[Burden], board: Board, source: str) -> Iterator[PinRow]:
    limits = board.limits
    for burden in burdens:
        given = _given(burden, source)
        carries = Figure(
            burden.pin.name,
            "current of the pin",
            given.value,
            "A",
            "as given",
            (given,),
            limits.pin_clause,
        )
        way = "sinks" if burden.sinks else "sources"
        most_a = limits.pin_guaranteed_ma / MA_PER_A
        yield PinRow(
            f"{burden.pin.name} ({burden.output})", way, carries, most_a, limits.pin_clause
        )


def _groups(burdens: Sequence[Burden], board: Board, source: str) -> Iterator[PinRow]:
    for total in totals_of(burdens, board):
        if not total.burdens:
            continue
        carries = Figure(
            total.pins,
            f"what it {total.way}s",
            float(worst_ma(total.burdens)) / MA_PER_A,
            "A",
            "I = sum with every output on, of each pair its heavier pin",
            tuple(_given(burden, source) for burden in total.burdens),
            total.clause,
        )
        most_a = total.most_ma / MA_PER_A
        yield PinRow(total.pins, f"{total.way}s", carries, most_a, total.clause)


def _given(burden: Burden, source: str) -> Given:
    amperes = float(burden.draws_ma) / MA_PER_A
    return Given(
        f"{burden.output} on {burden.pin.name}", amperes, "A", f"{source}:{burden.place.line}"
    )
