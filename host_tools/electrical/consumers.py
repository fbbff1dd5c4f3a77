"""Everything on a ship that takes current: what each takes, from which supply, and when.

A consumer takes its current in some states of one function, or whenever it likes (a servo, the
board, what is always on). Consumers that hang on one pair of wires from their supply make a feed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from gen.read.kinds import AUTO, NONE
from gen.resolve.loads import loads_of
from gen.ship import LineItem, PairItem, ServoItem
from host_tools.electrical.figure import Figure, Given, Input
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from decimal import Decimal

    from gen.behaviours import Function
    from gen.behaviours.base import FunctionKeys
    from gen.diagnostics import Place
    from gen.electric import LoadItem, ServoPowerItem
    from gen.plan import Plan
    from gen.read.keys import Located
    from gen.resolve.outputs import Burden
    from gen.ship import Ship

MA_PER_A = 1000

COIL = "the usual relay of 5 V has a coil of 70 ohm (suppliers' pages)"


@dataclass(frozen=True)
class Consumer:
    """One thing that takes current: `draws` while it runs, `stalls` held fast, `surge` when it is
    just switched on. It runs in `states` of the function of this index in the plan, or at any time
    if `function` is None. `place` is where it stands in the ship file."""

    name: str
    draws: Input
    stalls: Input | None
    surge: Input | None
    kind: str
    function: int | None
    states: frozenset[int]
    place: Place
    item: LoadItem | ServoPowerItem | None = None


@dataclass(frozen=True)
class Feed:
    """Consumers on one pair of wires from `supply`, behind the contacts of `outputs` (lines and
    lights of the plan by name; none for what is always on). `fuse` is what the owner wants of the
    fuse before it: AUTO, NONE or mA; `output` the servo or the owner of coils."""

    name: str
    kind: Literal["load", "coils", "servo", "board", "always"]
    supply: str
    consumers: tuple[Consumer, ...]
    outputs: tuple[str, ...]
    function: FunctionKeys | None
    fuse: Decimal | str
    place: Place


def feeds_of(ship: Ship, plan: Plan, burdens: Iterable[Burden]) -> tuple[Feed, ...]:
    """Every feed of a ship, in the ship file's order: loads, servos, what is always on, coils, the
    board. `ship` has the lines of its registers."""
    at = Written(plan.source)
    indices = {function.name: index for index, function in enumerate(plan.functions)}
    made: list[Feed] = []
    for keys in ship.functions:
        index = indices[keys.name.value]
        made += _load_feeds(keys, ship, plan, index, at)
    for keys in ship.functions:
        made += _servo_feeds(keys, ship, at)
    for name, load in ship.always_on.items.items() if ship.always_on is not None else ():
        consumer = _load(name, load, at, None, frozenset())
        made.append(
            Feed(
                name,
                "always",
                load.supply.value,
                (consumer,),
                (),
                None,
                load.fuse.value,
                load.place,
            )
        )
    made += _coil_feeds(ship, plan, at)
    made += _board_feed(ship, plan, burdens, at)
    return tuple(made)


def _load_feeds(
    keys: FunctionKeys, ship: Ship, plan: Plan, index: int, at: Written
) -> Iterator[Feed]:
    """One feed for all loads of one supply behind the same outputs."""
    function = plan.functions[index]
    grouped: dict[tuple[str, tuple[str, ...]], list[tuple[str, LoadItem]]] = {}
    every = _outputs_of(keys, ship)
    for name, load in loads_of(keys):
        outputs = every
        if load.switched_by is not None:
            outputs = (load.switched_by.value,)
        grouped.setdefault((load.supply.value, outputs), []).append((name, load))
    for (supply, outputs), loads in grouped.items():
        states = frozenset(
            state
            for state in range(1, len(function.states))
            if _on(function, state, plan) & set(outputs) or function.servos
        )
        name = keys.name.value
        if len(grouped) > 1:
            alike = [key for key in grouped if key[0] == supply]
            name += f" {outputs[0]}" if len(alike) > 1 else f" on {supply}"
        consumers = tuple(
            _load(f"{keys.name.value} {own}" if own else name, load, at, index, states)
            for own, load in loads
        )
        wishes = [load.fuse.value for _, load in loads]
        wish: Decimal | str = AUTO if AUTO in wishes else NONE
        if len(loads) == 1:
            wish = wishes[0]
        yield Feed(name, "load", supply, consumers, outputs, keys, wish, loads[0][1].place)


def _outputs_of(keys: FunctionKeys, ship: Ship) -> tuple[str, ...]:
    """The names of the plan's lines and lights that a function drives."""
    names: list[str] = []
    for driven in keys.driven():
        item = ship.outputs.items.get(driven.value)
        if isinstance(item, PairItem):
            names += [f"{driven.value} {way}" for way in item.ways.items]
        elif not isinstance(item, ServoItem):
            names.append(driven.value)
    return tuple(dict.fromkeys(names))


def _on(function: Function, state: int, plan: Plan) -> set[str]:
    """The lines and lights that are on in a state."""
    pattern = function.patterns[state] if function.lines else 0
    on = {plan.lines[line].name for bit, line in enumerate(function.lines) if pattern >> bit & 1}
    duties = function.level_patterns
    for number, light in enumerate(function.lights):
        if duties is None or duties[state][number]:
            on.add(plan.lights[light].name)
    return on


def _load(
    name: str,
    load: LoadItem,
    at: Written,
    function: int | None,
    states: frozenset[int],
) -> Consumer:
    draws: Input
    if load.draws is not None:
        draws = at.given(f"{name} draws", load.draws, "A")
    else:
        assert load.leds is not None  # noqa: S101 - the reader asked for one of the two
        each = at.given("current of a string", load.leds.current, "A")
        strings = at.usual("strings", load.leds.strings, "", load.leds, "one")
        draws = Figure(
            name,
            "current of its LEDs",
            each.value * strings.value,
            "A",
            "I = strings * current of a string",
            (strings, each),
            "Kirchhoff's current law",
        )
    kind = load.kind.value if load.kind is not None else ""
    return Consumer(
        name=name,
        draws=draws,
        stalls=_maybe(f"{name} stalls", load.stalls, at),
        surge=_maybe(f"{name} surge", load.surge, at),
        kind="LED" if load.leds is not None else kind,
        function=function,
        states=states,
        place=load.place,
        item=load,
    )


def _maybe(name: str, written: Located[Decimal] | None, at: Written) -> Given | None:
    return at.given(name, written, "A") if written is not None else None


def _servo_feeds(keys: FunctionKeys, ship: Ship, at: Written) -> Iterator[Feed]:
    for driven in keys.driven():
        item = ship.outputs.items.get(driven.value)
        if not isinstance(item, ServoItem) or item.power is None:
            continue
        power = item.power
        consumer = Consumer(
            name=driven.value,
            draws=at.given(f"{driven.value} draws", power.draws, "A"),
            stalls=_maybe(f"{driven.value} stalls", power.stalls, at),
            surge=None,
            kind="servo",
            function=None,
            states=frozenset(),
            place=power.place,
            item=power,
        )
        supply = power.supply.value
        yield Feed(
            driven.value,
            *("servo", supply, (consumer,), (driven.value,), keys),
            power.fuse.value,
            power.place,
        )


def _coil_feeds(ship: Ship, plan: Plan, at: Written) -> Iterator[Feed]:
    """One feed for all coils of one supply: those of a relay board share its two wires."""
    grouped: dict[str, list[Consumer]] = {}
    outputs: dict[str, list[str]] = {}
    places: dict[str, Place] = {}
    for item in ship.outputs:
        if not isinstance(item, LineItem | PairItem) or item.coil is None:
            continue
        names = [item.name.value]
        if isinstance(item, PairItem):
            names = [f"{item.name.value} {way}" for way in item.ways.items]
        for name in names:
            index, states = _driver_of(name, plan)
            supply = item.coil.supply.value
            places.setdefault(supply, item.coil.place)
            outputs.setdefault(supply, []).append(name)
            grouped.setdefault(supply, []).append(
                Consumer(
                    name=f"{name} coil",
                    draws=at.usual(f"{name} coil", item.coil.draws, "A", item.coil, COIL),
                    stalls=None,
                    surge=None,
                    kind="coil",
                    function=index,
                    states=states,
                    place=item.coil.place,
                )
            )
    for supply, consumers in grouped.items():
        name = "relay coils" if len(grouped) == 1 else f"relay coils on {supply}"
        yield Feed(
            name,
            *("coils", supply, tuple(consumers), tuple(outputs[supply]), None),
            NONE,
            places[supply],
        )


def _driver_of(line: str, plan: Plan) -> tuple[int | None, frozenset[int]]:
    """The function that drives a line, and the states in which it is on."""
    for index, function in enumerate(plan.functions):
        on = [s for s in range(1, len(function.states)) if line in _on(function, s, plan)]
        if on:
            return index, frozenset(on)
    return None, frozenset()


def _board_feed(ship: Ship, plan: Plan, burdens: Iterable[Burden], at: Written) -> Iterator[Feed]:
    if ship.board_supply is None:
        return
    own = at.usual("without its pins", ship.board_draws, "A", ship)
    pins = tuple(
        at.number(f"{burden.pin.name} gives", float(burden.draws_ma) / MA_PER_A, "A", burden.place)
        for burden in burdens
        if not burden.sinks
    )
    draws = Figure(
        plan.board,
        "what the board takes",
        own.value + sum(pin.value for pin in pins),
        "A",
        "I = its own + what its pins give",
        (own, *pins),
        "Kirchhoff's current law",
    )
    place = ship.board_supply.place
    consumer = Consumer(plan.board, draws, None, None, "electronics", None, frozenset(), place)
    yield Feed(plan.board, "board", ship.board_supply.value, (consumer,), (), None, NONE, place)
