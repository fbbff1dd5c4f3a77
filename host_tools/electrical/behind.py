"""What is behind each line and light of the board: coil, loads, and the driver chip between."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.ship import DimmerItem, LineItem, PairItem

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gen.ship import Ship
    from host_tools.electrical.consumers import Consumer, Feed
    from host_tools.electrical.figure import Input


INDUCTIVE = frozenset({"motor", "solenoid"})
"""The kinds of load that spark when they are switched off."""


@dataclass(frozen=True)
class Behind:
    """One line or light by its name in the plan, the output that it belongs to, and what its pin
    works through the driver chip of that name ("" for none): the coil, and the loads with the
    supplies that they are on."""

    line: str
    output: LineItem | PairItem | DimmerItem
    driver: str
    coil: Consumer | None
    coil_supply: str
    loads: tuple[tuple[str, Consumer], ...]

    @property
    def own(self) -> tuple[tuple[str, Consumer], ...]:
        """What the pin or its driver switches itself, with its supply: of a relay its coil, not
        what is on its contact."""
        if self.coil is not None:
            return ((self.coil_supply, self.coil),)
        relay = not isinstance(self.output, DimmerItem) and self.output.kind.value == "relay"
        return () if relay and not self.driver else self.loads


def behind_lines(ship: Ship, feeds: Iterable[Feed]) -> tuple[Behind, ...]:
    """Every line and light, in the ship file's order. `ship` has the lines of its registers."""
    feeds = tuple(feeds)
    made: list[Behind] = []
    for line, output, driver in _lines(ship):
        loads = [
            (feed.supply, consumer)
            for feed in feeds
            if feed.kind == "load" and line in feed.outputs
            for consumer in feed.consumers
        ]
        coils = [
            (feed.supply, consumer)
            for feed in feeds
            if feed.kind == "coils"
            for consumer in feed.consumers
            if consumer.name == f"{line} coil"
        ]
        supply, coil = coils[0] if coils else ("", None)
        made.append(Behind(line, output, driver, coil, supply, tuple(loads)))
    return tuple(made)


def _lines(ship: Ship) -> Iterator[tuple[str, LineItem | PairItem | DimmerItem, str]]:
    """The name of each line and light, its output, and the name of its driver."""
    for output in ship.outputs:
        name = output.name.value
        if isinstance(output, PairItem):
            for way in output.ways.items:
                yield f"{name} {way}", output, _driver(output)
        elif isinstance(output, LineItem | DimmerItem):
            yield name, output, _driver(output)


def _driver(output: LineItem | PairItem | DimmerItem) -> str:
    return output.driver.value if output.driver is not None else ""


def most_of(load: Consumer) -> Input:
    """The most that it takes for longer than a moment: a motor's when it is held fast."""
    return load.stalls if load.stalls is not None else load.draws
