"""The regulators of a ship: what they burn, and whether that needs a heat sink."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.electrical.figure import MEMORY, Figure, Given
from host_tools.electrical.regulators import heat_w, linear_efficiency

if TYPE_CHECKING:
    from collections.abc import Iterable

    from host_tools.electrical.electrics import Branch
    from host_tools.electrical.findings import Findings
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Node, Tree

PACKAGE = Given("package", 65.0, "K/W", f"TO-220 without a heat sink, junction to air {MEMORY}")
HOTTEST = Given("hottest junction", 125.0, "C", f"datasheets of linear regulators {MEMORY}")


def regulator_figures(
    tree: Tree, branches: Iterable[Branch], rules: WireRules, findings: Findings
) -> tuple[Figure, ...]:
    """What every regulator burns at its worst current, linear ones at the highest voltage before
    them; how hot these become. Those that become too hot are told."""
    figures: list[Figure] = []
    for branch in branches:
        node = tree.nodes.get(branch.name) if branch.of == "regulator" else None
        if node is None or node.parent is None or node.efficiency is None:
            continue
        if node.item.kind is None or node.item.kind.value != "linear":
            figures.append(
                heat_w(node.name, branch.worst, out_v=node.volts, efficiency=node.efficiency)
            )
            continue
        efficiency = linear_efficiency(node.name, node.parent.highest, node.volts)
        heat = heat_w(node.name, branch.worst, out_v=node.volts, efficiency=efficiency)
        figures += [heat, _junction(node, heat, rules, findings)]
    return tuple(figures)


def _junction(node: Node, heat: Figure, rules: WireRules, findings: Findings) -> Figure:
    junction = Figure(
        node.name,
        "chip without a heat sink",
        rules.temperature.value + PACKAGE.value * heat.value,
        "C",
        "T = surroundings + 65 K/W * P",
        (rules.temperature, PACKAGE, heat),
        PACKAGE.source,
    )
    if junction.value > HOTTEST.value:
        findings.unwise(
            "regulator-hot",
            node.item.place,
            f"supply {show(node.name)}: it burns {heat.shown()}, too much without a heat sink",
            got=junction.shown(),
            expected=f"at most {HOTTEST.shown()}",
            clause=PACKAGE.source,
        )
    return junction
