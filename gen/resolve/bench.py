"""The bench: whether a computer may work this ship, and what tells its columns in a trace apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.plan import FORCE, SUM_SIGNAL, Bench

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.diagnostics import Problems
    from gen.read.keys import Named
    from gen.resolve.pins import Pins
    from gen.ship import BenchItem, Ship


def resolve_bench(item: BenchItem | None, pins: Pins) -> Bench | None:
    """What the ship file allows. A jumper keeps its pin even where the bench is not allowed."""
    if item is None:
        return None
    jumper = ""
    if item.jumper is not None:
        pin = pins.take(item.jumper, "bench jumper")
        jumper = pin.name if pin is not None else item.jumper.value
    allowed = item.allowed.value if item.allowed is not None else item.jumper is not None
    return Bench(jumper, item.place.line) if allowed else None


def check_columns(ship: Ship, sensors: Iterable[Named], problems: Problems) -> None:
    """Notes channels and sensors that would be two columns of one name in a trace."""
    taken = {FORCE: "what a bench forces"}
    if ship.receiver.sum_signal is not None:
        taken[SUM_SIGNAL] = "the sum signal"
    named: list[tuple[str, Named]] = [
        ("channel", item) for item in ship.receiver.channels or () if item.pin is not None
    ]
    named += [("sensor", item) for item in sensors]
    for kind, item in named:
        name = item.name
        first = taken.setdefault(name.value, f"the {kind} in line {name.place.line}")
        if first != f"the {kind} in line {name.place.line}":
            problems.add(
                "same-column",
                name.place,
                f"{kind} {show(name.value)}: in a trace this is the column of {first}",
                hint="rename it",
            )
