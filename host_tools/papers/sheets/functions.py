"""The function sheet: one line a function."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheet import Sheet
from host_tools.papers.table import Column, Look, Row, Table
from host_tools.papers.words import asked_by, conditions, driven

if TYPE_CHECKING:
    from gen.behaviours import Function
    from host_tools.papers.facts import Facts


def function_sheet(facts: Facts) -> Sheet:
    """Every function: who asks, how it answers, what it drives, what a lost signal does."""
    rows = tuple(
        Row(function.name, (function.name, *_cells(facts, function)))
        for function in facts.functions
    )
    table = Table(
        name="functions",
        title="",
        columns=(
            Column("Function", 27, Look.NAME),
            Column("Asked for by", 37),
            Column("Behaviour and limits", 34),
            Column("But", 28),
            Column("Drives", 28),
            Column("Signal lost", 17),
            Column("Line", 9, Look.NUMBER, compared=False),
        ),
        rows=rows,
        note=f"Line: where it stands in {facts.plan.source}.",
    )
    return Sheet("functions", "Function sheet", (table,))


def _cells(facts: Facts, function: Function) -> tuple[str, ...]:
    plan = facts.plan
    limits = function.limits_in_words(plan)
    return (
        asked_by(plan, function),
        f"{function.key}\n{limits}" if limits else function.key,
        conditions(plan, function),
        "\n".join(f"{one.name}, {one.pin}" for one in driven(plan, function)),
        function.loss_in_words,
        str(function.source_line),
    )
