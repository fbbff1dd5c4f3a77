"""What is on the board's output pins, and what hangs on that: as a wireman sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.resolve.harness import switched_to_ground
from gen.resolve.loads import driver_output, loads_of
from gen.ship import PairItem
from host_tools.electrical.electrics import Terminal
from host_tools.papers.words import pin_of

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.electric import LoadItem
    from gen.plan import Line
    from gen.ship import OutputItem, ServoItem, Ship
    from host_tools.papers.facts import Facts

RELAY, TRANSISTOR, ARRAY = "relay", "transistor", "driver array"


@dataclass(frozen=True)
class Load:
    """What a function switches. `name` is its own or that of its function, `branch` that of its
    branch in the electrical sums."""

    name: str
    branch: str
    kind: str
    supply: str
    draws: str
    switched_by: str

    @property
    def text(self) -> str:
        """In a few words: "lamp, 1.2 A"."""
        return ", ".join(filter(None, (self.kind, self.draws)))


@dataclass(frozen=True)
class Switch:
    """One line: a relay, a transistor, an output of a driver array or a dimmer. `pair` and `way`
    are those of a motor that turns both ways, "" otherwise. `sink` is where it takes the current of
    its load to 0 V, if it is no relay."""

    name: str
    pin: str
    kind: str
    active_low: bool
    dims: bool
    pair: str
    way: str
    driver: str
    sink: Terminal
    source: Terminal
    function: Function | None
    loads: tuple[Load, ...]
    source_line: int

    @property
    def level(self) -> str:
        """What stands on its pin while it is on."""
        if self.dims:
            return "5 V pulses"
        return f"on is {'0 V' if self.active_low else '5 V'}"


def switches_of(facts: Facts) -> tuple[Switch, ...]:
    """Every line and dimmer, in the ship file's order."""
    plan, made = facts.plan, []
    ways = {one: pair for pair in plan.pairs for one in (pair.first, pair.second)}
    lines = {line: function for function in plan.functions for line in function.lines}
    lights = {light: function for function in plan.functions for light in function.lights}
    for index, line in enumerate(plan.lines):
        pair = ways[index].name if index in ways else ""
        item = facts.ship.outputs.items[pair or line.name]
        function = lines.get(index)
        made.append(
            Switch(
                name=line.name,
                pin=pin_of(line),
                kind=_kind(item),
                active_low=line.active_low,
                dims=False,
                pair=pair,
                way=line.name.removeprefix(pair).strip() if pair else "",
                driver=_driver(item),
                sink=_sink(facts, line.name, item),
                source=_source(facts, line),
                function=function,
                loads=_loads(facts, function, line.name),
                source_line=line.source_line,
            )
        )
    for index, light in enumerate(plan.lights):
        item = facts.ship.outputs.items[light.name]
        function = lights.get(index)
        driver = _driver(item)
        made.append(
            Switch(
                name=light.name,
                pin=f"pin {light.pin}",
                kind=ARRAY if driver else TRANSISTOR,
                active_low=False,
                dims=True,
                pair="",
                way="",
                driver=driver,
                sink=_sink(facts, light.name, item),
                source=Terminal(plan.board, light.pin),
                function=function,
                loads=_loads(facts, function, light.name),
                source_line=light.source_line,
            )
        )
    return tuple(sorted(made, key=lambda one: one.source_line))


def _kind(item: OutputItem) -> str:
    if isinstance(item, PairItem):
        return RELAY if item.kind.value == RELAY else TRANSISTOR
    if not switched_to_ground(item):
        return RELAY
    return ARRAY if _driver(item) else TRANSISTOR


def _driver(item: OutputItem) -> str:
    driver = getattr(item, "driver", None)
    return driver.value if driver is not None else ""


def _sink(facts: Facts, name: str, item: OutputItem) -> Terminal:
    """Where a transistor or an output of a driver array takes its load's current: those of an array
    are taken in the ship file's order."""
    driver = _driver(item)
    if isinstance(item, PairItem):
        pair = item.name.value
        return Terminal(pair, f"out {name.removeprefix(pair).strip()}")
    if not driver:
        return Terminal(name, "drain")
    return Terminal(driver, f"out {driver_output(facts.ship, driver, name)}")


def _source(facts: Facts, line: Line) -> Terminal:
    if line.shifted is None:
        return Terminal(facts.plan.board, line.pin)
    register, output = line.shifted
    return Terminal(facts.plan.registers[register].name, str(output + 1))


def _loads(facts: Facts, function: Function | None, output: str) -> tuple[Load, ...]:
    """The loads of a function that this output switches."""
    if function is None:
        return ()
    made = [load_of(function.name, name, item) for name, item in loads_in(facts.ship, function)]
    return tuple(load for load in made if load.switched_by in ("", output))


def loads_in(ship: Ship, function: Function) -> list[tuple[str, LoadItem]]:
    """The loads of a function as written, by name."""
    return list(loads_of(ship.functions.items[function.name]))


def load_of(function: str, name: str, item: LoadItem) -> Load:
    """A load in words."""
    draws = item.draws.text if item.draws is not None else ""
    kind = item.kind.value if item.kind is not None else "LED" if item.leds is not None else ""
    if item.leds is not None:
        leds = item.leds
        draws = f"{leds.strings.value} x {leds.in_a_row.value} LEDs at {leds.current.text}"
    return Load(
        name=name or function,
        branch=f"{function} {name}".strip(),
        kind=kind,
        supply=item.supply.value,
        draws=draws,
        switched_by=item.switched_by.value if item.switched_by is not None else "",
    )


def servo_item(facts: Facts, name: str) -> ServoItem:
    """A servo as written."""
    item: ServoItem = facts.ship.outputs.items[name]  # type: ignore[assignment]  # of this kind
    return item


def chain_of(ship: Ship, supply: str) -> tuple[str, ...]:
    """The supplies from the battery to this one."""
    names: list[str] = []
    known = ship.supplies.items if ship.supplies is not None else {}
    while supply in known and supply not in names:
        names.insert(0, supply)
        parent = known[supply].from_
        supply = parent.value if parent is not None else ""
    return tuple(names)
