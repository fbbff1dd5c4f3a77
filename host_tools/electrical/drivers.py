"""Driver chips: what each of their outputs carries, and how hot they become."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.resolve.loads import driven_through
from host_tools.electrical.coils import ARRAY_HOTTEST, ARRAY_OUTPUT_A, driver_array
from host_tools.electrical.tree import Share

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.diagnostics import Place
    from gen.electric import DriverItem
    from gen.ship import Ship
    from host_tools.electrical.currents import Summing
    from host_tools.electrical.figure import Figure
    from host_tools.electrical.findings import Findings
    from host_tools.electrical.rules import WireRules
    from host_tools.electrical.tree import Tree


def driver_figures(
    ship: Ship, tree: Tree, summing: Summing, rules: WireRules, findings: Findings
) -> list[Figure]:
    """The sums of every driver chip; what overloads one is told."""
    figures: list[Figure] = []
    for driver in ship.drivers or ():
        lines = {
            line: name.place
            for line, name in driven_through(ship)
            if name.value == driver.name.value
        }
        figures += _figures(
            driver, lines, tree=tree, summing=summing, rules=rules, findings=findings
        )
    return figures


def _figures(
    driver: DriverItem,
    lines: dict[str, Place],
    *,
    tree: Tree,
    summing: Summing,
    rules: WireRules,
    findings: Findings,
) -> list[Figure]:
    name = driver.name.value
    label = f"driver {show(name)}"
    shares = {line: _switched(line, tree) for line in lines}
    for line, of in shares.items():
        current = summing.worst(name, of, f"current of {line}")
        if current.value > ARRAY_OUTPUT_A.value:
            findings.unsafe(
                "driver-overloaded",
                lines[line],
                f"{label}: its output for {show(line)} carries too much",
                got=current.shown(),
                expected=f"at most {ARRAY_OUTPUT_A.shown()}",
                clause=ARRAY_OUTPUT_A.source,
            )
        for share in of:
            if share.feed.supply != driver.supply.value:
                findings.unsafe(
                    "driver-supply",
                    lines[line],
                    f"{label}: {show(line)} switches what is not on the supply of its common pin",
                    got=show(share.feed.supply),
                    expected=show(driver.supply.value),
                    clause="ULN2803 datasheets: the common pin is on the supply of the coils",
                )
                break
    every = [share for of in shares.values() for share in of]
    worst = summing.worst(name, every, "current of all its outputs")
    array = driver_array(name, worst.given, rules.temperature)
    if not array.bears_it:
        findings.unsafe(
            "driver-overloaded",
            driver.place,
            f"{label}: its chip becomes too hot with {worst.shown()} at once",
            got=array.junction.shown(),
            expected=f"at most {ARRAY_HOTTEST.shown()}",
            clause=ARRAY_HOTTEST.source,
        )
    return [worst, array.heat, array.junction]


def _switched(line: str, tree: Tree) -> Sequence[Share]:
    """What an output of the chip switches: a relay's coil, or else the load itself."""
    shares = [share for node in tree.batteries for share in tree.shares(node)]
    coils = [s for s in shares if s.feed.kind == "coils" and s.consumer.name == f"{line} coil"]
    loads = [s for s in shares if s.feed.kind == "load" and line in s.feed.outputs]
    return [_own(share) for share in coils or loads]


def _own(share: Share) -> Share:
    """The same consumer's current where it flows itself."""
    return Share(share.feed, share.consumer, 1.0, ())
