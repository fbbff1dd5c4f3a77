"""Loads, drums and driver chips: whether they say what the sums need, once, and fit together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours.winch import WinchKeys
from gen.diagnostics import nearest, show
from gen.electric import DRIVER_OUTPUTS
from gen.resolve.names import find_named
from gen.resolve.supplies import find_supply
from gen.ship import PairItem, RegisterItem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.behaviours.base import FunctionKeys
    from gen.diagnostics import Problems
    from gen.electric import DrumItem, LoadItem
    from gen.read.keys import Located
    from gen.ship import Ship


def check_loads(ship: Ship, problems: Problems) -> None:
    """Notes what is wrong with the loads, drums and drivers of a ship."""
    for function in ship.functions:
        label = f"function {show(function.name.value)}"
        if function.load is not None and function.loads is not None:
            what = f"{label}: it has both a load and loads"
            problems.add("wrong-load", function.loads.place, what, expected="one of the two")
        supplies: dict[str, str] = {}
        for name, load in loads_of(function):
            _check_load(load, f"{label}: load{f' {show(name)}' if name else ''}", ship, problems)
            _check_switch(load, function, label, problems)
            switch = load.switched_by.value if load.switched_by is not None else ""
            first = supplies.setdefault(switch, load.supply.value)
            if first != load.supply.value:
                what = f"{label}: one contact cannot switch two supplies"
                got, expected = show(load.supply.text), show(first)
                problems.add("wrong-load", load.supply.place, what, got=got, expected=expected)
        if isinstance(function, WinchKeys) and function.drum is not None:
            _check_drum(function.drum, f"{label}: drum", problems)
    for name, load in ship.always_on.items.items() if ship.always_on is not None else ():
        _check_load(load, f"always on: {show(name)}", ship, problems)
        if load.switched_by is not None:
            what = f"always on: {show(name)}: nothing switches it"
            got = show(load.switched_by.text)
            problems.add("wrong-load", load.switched_by.place, what, got=got)
    _check_drivers(ship, problems)
    if ship.wires is not None and ship.wires.have == ():
        what = "wires: there are none to choose from"
        problems.add("wrong-count", ship.wires.place, what, got="0", expected="at least one size")


def loads_of(function: FunctionKeys) -> Iterator[tuple[str, LoadItem]]:
    """The loads of a function by name; a single one has none."""
    if function.load is not None:
        yield "", function.load
    if function.loads is not None:
        yield from function.loads.items.items()


def _check_load(load: LoadItem, label: str, ship: Ship, problems: Problems) -> None:
    find_supply(load.supply, ship, label, problems)
    if load.draws is None and load.leds is None:
        what = f"{label}: what it draws is not said"
        problems.add("wrong-load", load.place, what, expected="draws: a current such as 0.8 A")
    if load.draws is not None and load.leds is not None:
        what = f"{label}: what its LEDs draw follows from 'leds'"
        got = show(load.draws.text)
        problems.add("wrong-load", load.draws.place, what, got=got, expected="no 'draws'")
    for word, given in (("stalls", load.stalls), ("surges", load.surge)):
        if given is not None and load.draws is not None and given.value < load.draws.value:
            what = f"{label}: it {word} at less than it draws"
            expected = f"at least {load.draws.text}"
            problems.add("wrong-load", given.place, what, got=show(given.text), expected=expected)


def _check_switch(load: LoadItem, function: FunctionKeys, label: str, problems: Problems) -> None:
    switch = load.switched_by
    known = {output.value for output in function.driven()}
    if switch is not None and switch.value not in known:
        problems.add(
            "unknown-name",
            switch.place,
            f"{label}: it drives no such output",
            got=show(switch.text),
            hint=nearest(switch.value, known),
        )


def _check_drum(drum: DrumItem, label: str, problems: Problems) -> None:
    if drum.line.value > drum.width.value:
        what = f"{label}: the line is thicker than the drum is wide"
        got, expected = show(drum.line.text), f"at most {drum.width.text}"
        problems.add("wrong-drum", drum.line.place, what, got=got, expected=expected)
    if drum.flange.value <= drum.diameter.value:
        what = f"{label}: its flanges are no larger than the drum"
        got, expected = show(drum.flange.text), f"more than {drum.diameter.text}"
        problems.add("wrong-drum", drum.flange.place, what, got=got, expected=expected)


def _check_drivers(ship: Ship, problems: Problems) -> None:
    taken: dict[str, int] = {}
    for output, driver in driven_through(ship):
        label = f"output {show(output)}"
        if not find_named(
            driver, ship.drivers, label=label, kind="driver", where="drivers", problems=problems
        ):
            continue
        before = taken.get(driver.value, 0)
        taken[driver.value] = before + 1
        if before == DRIVER_OUTPUTS:
            what = f"{label}: driver {show(driver.value)} has no output left"
            problems.add(
                "driver-full", driver.place, what, expected=f"at most {DRIVER_OUTPUTS} on it"
            )
    if ship.drivers is not None:
        for item in ship.drivers:
            if item.name.value not in taken:
                what = f"driver {show(item.name.value)}: no output is on it"
                problems.add("unused", item.place, what)


def driven_through(ship: Ship) -> Iterator[tuple[str, Located[str]]]:
    """Every line that has a driver chip, in the ship file's order, and that chip's name. Of a shift
    register each output that is driven is a line of its own."""
    for output in ship.outputs:
        driver: Located[str] | None = getattr(output, "driver", None)
        if driver is None or isinstance(output, RegisterItem):
            continue
        if isinstance(output, PairItem):
            for way in output.ways.items:
                yield f"{output.name.value} {way}", driver
        else:
            yield output.name.value, driver


def driver_output(ship: Ship, driver: str, line: str) -> int:
    """Which output of a driver chip works a line, from 1: taken in the ship file's order."""
    return [one for one, its in driven_through(ship) if its.value == driver].index(line) + 1
