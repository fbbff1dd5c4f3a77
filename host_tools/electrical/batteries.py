"""The batteries of a ship: between which voltages they work, and how long they last."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.electrical.battery import MOST_C, cut_off_v, hours, lasts, usable, used
from host_tools.electrical.electrics import Endurance
from host_tools.electrical.figure import Figure, Given, Refused

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from host_tools.electrical.battery import Stretch
    from host_tools.electrical.findings import Findings
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Node, Tree


def endurance_of(
    tree: Tree,
    worst: Mapping[str, Figure],
    rules: WireRules,
    *,
    profiles: Mapping[str, Sequence[Stretch]],
    source: str,
    findings: Findings,
) -> tuple[Endurance, ...]:
    """Every battery of which capacity and chemistry are known. `worst` are the worst currents of
    branches; `profiles` what a run drew from each battery, which `source` names."""
    made = []
    for node in tree.batteries:
        if node.battery is not None:
            current = worst[node.name]
            _check_rate(node, current, findings)
            made.append(
                _one(
                    node,
                    current,
                    rules,
                    profile=profiles.get(node.name),
                    source=source,
                    file=tree.source,
                )
            )
    return tuple(made)


def _one(
    node: Node,
    worst: Figure,
    rules: WireRules,
    *,
    profile: Sequence[Stretch] | None,
    source: str,
    file: str,
) -> Endurance:
    battery = node.battery
    assert battery is not None  # noqa: S101 - asked by the caller
    there = usable(battery, rules.temperature)
    nothing = Refused(node.name, "endurance", "nothing hangs on it", (worst,))
    share = there if isinstance(there, Figure) else None
    assert isinstance(node.highest, Figure)  # noqa: S101 - a battery's is always reckoned
    return Endurance(
        name=node.name,
        full=node.highest,
        cut_off=cut_off_v(battery, worst),
        worst=worst,
        at_worst=hours(battery, worst) if worst.value > 0 else nothing,
        used=used(battery, profile, source) if profile is not None else None,
        profile=lasts(battery, profile, source, share) if profile is not None else None,
        sag=_sag(node, worst, file),
        temperature=there,
    )


def _sag(node: Node, worst: Figure, file: str) -> Figure | None:
    written = node.item.resistance
    if written is None:
        return None
    inside = Given(
        "resistance inside", float(written.value) / 1000, "ohm", f"{file}:{written.place.line}"
    )
    return Figure(
        node.name,
        "lost inside at the worst current",
        worst.value * inside.value,
        "V",
        "U = I * R",
        (worst, inside),
        "Ohm's law",
    )


def _check_rate(node: Node, worst: Figure, findings: Findings) -> None:
    assert node.battery is not None  # noqa: S101 - asked by the caller
    capacity = node.battery.capacity_ah
    most_a = MOST_C.value * capacity.value
    if worst.value > most_a:
        place = node.item.capacity.place if node.item.capacity is not None else node.item.place
        findings.unwise(
            "battery-current",
            place,
            f"supply {show(node.name)}: at worst more is drawn than its capacity is good for",
            got=f"{worst.shown()} of {capacity.shown()}",
            expected=f"at most {most_a:.3g} A (1.3 C)",
            clause=MOST_C.source,
        )
