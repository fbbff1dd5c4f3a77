"""The supplies: a tree drawing, and what flows in each branch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.drawings.supply_tree import TreeNode, supply_tree
from host_tools.papers.sheet import Cautions, Figures, Notes, Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Branch, Electrics
    from host_tools.electrical.figure import Figure
    from host_tools.papers.facts import Facts

NOT_SAID = "\u2013"


def supplies_sheet(facts: Facts) -> Sheet:
    """Empty without supplies."""
    electrics = facts.electrics
    if electrics is None or not electrics.branches:
        return Sheet("supplies", "Supplies", ())
    roots = [one for one in electrics.branches if not one.parent]
    figures = Figures(
        name="supplies",
        title="",
        figures=supply_tree([_node(electrics, one) for one in roots]),
        note="The current beside a name is the most that the plan allows at once: what bars itself"
        " from running together is not added up.",
        wide=True,
    )
    table = Table(
        name="supplies",
        title="Currents",
        columns=(
            Column("Branch", 34, Look.NAME),
            Column("Fed by", 24),
            Column("Voltage", 12, Look.NUMBER),
            Column("Fuse", 10, Look.NAME),
            Column("Most at once", 14, Look.NUMBER),
            Column("All added up", 14, Look.NUMBER),
            Column("Usual", 12, Look.NUMBER),
            Column("One held fast", 14, Look.NUMBER),
        ),
        rows=tuple(
            Row(
                f"{one.parent}/{one.name}",
                (
                    one.name,
                    one.parent,
                    _volts(one.voltage_v),
                    one.fuse,
                    one.worst.shown(),
                    one.plain.shown(),
                    _shown(one.typical),
                    _shown(one.stalls),
                ),
            )
            for one in electrics.branches
        ),
        note=f"How a number was come by: pinrail power {facts.plan.source} --explain BRANCH",
    )
    cautions = Cautions(
        (
            "The first fuse is next to the battery. Charge with this wiring off, where nothing can"
            " burn, as the battery's maker says, never alone.",
            "Regulators get hot: metal to metal, air around them, away from the hull's skin.",
        )
    )
    missing = electrics.missing
    notes = ("Not summed, because the ship file does not say:", *missing) if missing else ()
    return Sheet("supplies", "Supplies", (cautions, figures, table, Notes(notes)))


def _node(electrics: Electrics, branch: Branch) -> TreeNode:
    is_load = branch.of == "load"
    # A function may have the name of a supply; nothing hangs on a load.
    fed = [one for one in electrics.branches if one.parent == branch.name and not is_load]
    children = tuple(_node(electrics, one) for one in fed)
    text = branch.worst.shown()
    if not is_load:
        text = f"{_volts(branch.voltage_v)}, {text}"
    return TreeNode(branch.name, text, branch.fuse, is_load, children)


def _volts(volts: float) -> str:
    return f"{volts:g} V"


def _shown(figure: Figure | None) -> str:
    return figure.shown() if figure is not None else NOT_SAID
