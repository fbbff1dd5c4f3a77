"""Connectors: which contact carries what.

What is carried takes as many contacts as it has leads: a lamp one, a motor that turns both ways two
(both are fed and returned through its relays), a servo two (power and signal), a supply that begins
on the one side and is shared out on the other one. Leads that are
listed take contacts from 1 on in their order, so that one that is added at the end moves none; the
returns are the last ones that are free.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show
from gen.electric import SPARE
from gen.resolve.loads import loads_of
from gen.ship import DimmerItem, LineItem, PairItem, ServoItem

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.diagnostics import Place, Problems
    from gen.electric import Carried, ConnectorItem
    from gen.ship import Ship


@dataclass(frozen=True, slots=True)
class Lead:
    """One wire through a connector. `of` is the function, load or supply, `output` the output or
    way that feeds it, "" if it has only one; `returned`: whether its current comes back by the
    returns. What is switched to 0 V comes back by itself, `fed_by` supplies that are beyond."""

    of: str
    output: str
    returned: bool
    is_signal: bool = False
    fed_by: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """Its name on paper."""
        return f"{self.of} {self.output}".strip()


@dataclass(frozen=True)
class Contacts:
    """What each contact of a connector carries; `kept` are spare by the owner's wish."""

    leads: dict[int, Lead]
    kept: tuple[int, ...]
    free: tuple[int, ...]


def check_harness(ship: Ship, problems: Problems) -> None:
    """Notes what is wrong with the connectors of a ship."""
    for connector in ship.harness or ():
        contacts_of(connector, ship, problems)


def contacts_of(connector: ConnectorItem, ship: Ship, problems: Problems) -> Contacts:
    """Which contact carries what; notes what does not fit."""
    return _Assigning(connector, ship, problems).done()


def leads_of(name: str, ship: Ship) -> tuple[Lead, ...]:
    """The leads of a function, of something that is always on, or of a supply; a name that several
    have is meant in this order."""
    function = ship.functions.items.get(name)
    if function is not None:
        return _leads_of_function(function, ship)
    return (Lead(name, "", returned=True),)


def switched_to_ground(output: object) -> bool:
    """Whether this output connects its load to 0 V: a transistor, a dimmer or a driver chip, while
    a relay feeds it from its supply."""
    if isinstance(output, DimmerItem):
        return True
    return isinstance(output, LineItem) and (
        output.kind.value == "transistor" or (output.driver is not None and output.coil is None)
    )


def _leads_of_function(function: FunctionKeys, ship: Ship) -> tuple[Lead, ...]:
    name = function.name.value
    outputs = [ship.outputs.items.get(one.value) for one in function.driven()]
    (first, *others) = outputs or [None]
    if isinstance(first, PairItem):
        return tuple(Lead(name, way, returned=False) for way in first.ways.items)
    if isinstance(first, ServoItem):
        power = Lead(name, "power", returned=True)
        return power, Lead(name, "signal", returned=False, is_signal=True)
    own = [load.switched_by.value for _, load in loads_of(function) if load.switched_by is not None]
    named = dict.fromkeys(own) or dict.fromkeys(one.value for one in function.driven())
    leads = []
    for output in named:
        low = switched_to_ground(ship.outputs.items.get(output))
        supplies = {load.supply.value: None for _, load in loads_of(function)} if low else {}
        label = output if others else ""
        leads.append(Lead(name, label, returned=not low, fed_by=tuple(supplies)))
    return tuple(leads)


class _Assigning:
    """Gives a connector's contacts to what it carries, one after another."""

    def __init__(self, connector: ConnectorItem, ship: Ship, problems: Problems) -> None:
        self.connector = connector
        self.ship = ship
        self.problems = problems
        self.label = f"connector {show(connector.name.value)}"
        self.leads: dict[int, Lead] = {}
        self.kept: list[int] = []
        self.seen: set[str] = set()
        self.next = 1

    def done(self) -> Contacts:
        for carried in self.connector.carries:
            self._take(carried)
        free = tuple(
            number
            for number in range(1, self.connector.contacts.value + 1)
            if number not in self.leads and number not in self.kept
        )
        self._check_returns(free)
        self._check_feeds()
        return Contacts(self.leads, tuple(self.kept), free)

    def _take(self, carried: Carried) -> None:
        name = carried.what.value
        place = carried.what.place
        if name == SPARE:
            self.kept += self._numbers(carried, len(carried.contacts) or 1, place)
            return
        if not self._known(carried):
            return
        if name in self.seen:
            self._wrong(place, "it carries this twice", show(name), "each once")
            return
        self.seen.add(name)
        leads = leads_of(name, self.ship)
        for number, lead in zip(self._numbers(carried, len(leads), place), leads, strict=False):
            self.leads[number] = lead

    def _numbers(self, carried: Carried, count: int, place: Place) -> list[int]:
        """The contacts for so many leads, without those that cannot be."""
        name = carried.what.value
        if not carried.contacts:
            numbers = list(range(self.next, self.next + count))
            self.next += count
            if numbers[-1] > self.connector.contacts.value:
                has = f"it has {self.connector.contacts.value} contacts"
                self._wrong(place, f"{has}, and there is none for this", show(name), "fewer")
            return [one for one in numbers if one <= self.connector.contacts.value]
        if len(carried.contacts) != count:
            leads = ", ".join(lead.text for lead in leads_of(name, self.ship))
            got = str(len(carried.contacts))
            self._wrong(
                place, f"{show(name)} takes another number of contacts", got, f"{count}: {leads}"
            )
            return []
        numbers = []
        for contact in carried.contacts:
            number = contact.value
            if number > self.connector.contacts.value:
                most = f"1 to {self.connector.contacts.value}"
                self._wrong(contact.place, "it has no such contact", str(number), most)
            elif number in self.leads or number in self.kept or number in numbers:
                by = self.leads[number].text if number in self.leads else name
                self._wrong(
                    contact.place, f"the contact is taken by {show(by)}", str(number), "a free one"
                )
            else:
                numbers.append(number)
        return numbers

    def _known(self, carried: Carried) -> bool:
        known: set[str] = set()
        for section in (self.ship.functions, self.ship.always_on):
            if section is not None:
                known |= section.items.keys() | section.broken
        if self.ship.supplies is not None:
            fed = (item for item in self.ship.supplies if item.from_ is not None)
            known |= {item.name.value for item in fed} | self.ship.supplies.broken
        if carried.what.value in known:
            return True
        self.problems.add(
            "unknown-name",
            carried.what.place,
            f"{self.label}: there is no such function, load or supply",
            got=show(carried.what.text),
            hint=nearest(carried.what.value, known),
        )
        return False

    def _check_returns(self, free: tuple[int, ...]) -> None:
        returns = self.connector.returns
        needed = returns.value if returns.value is not None else 1
        if any(lead.returned for lead in self.leads.values()) and len(free) < needed:
            what = "no contact is left to lead the current back"
            if returns.value is not None:
                what = "not so many contacts are left to lead the current back"
            place = self.connector.place if returns.value is None else returns.place
            self._wrong(place, what, f"{len(free)} left", f"at least {needed}")

    def _check_feeds(self) -> None:
        """What is switched to 0 V needs its supply, or what feeds that, beyond the connector."""
        for lead in self.leads.values():
            for supply in lead.fed_by:
                if not self.seen & set(self._above(supply)):
                    place = next(
                        c.what.place for c in self.connector.carries if c.what.value == lead.of
                    )
                    self._wrong(
                        place,
                        f"{show(lead.of)} is switched to 0 V, and its supply is not beyond this",
                        "",
                        f"{show(supply)} among what it carries",
                    )

    def _above(self, name: str) -> list[str]:
        """A supply and all that feed it."""
        found = [name]
        supplies = self.ship.supplies
        while supplies is not None and found[-1] in supplies.items:
            above = supplies.items[found[-1]].from_
            if above is None or above.value in found:
                break
            found.append(above.value)
        return found

    def _wrong(self, place: Place, what: str, got: str, expected: str) -> None:
        self.problems.add(
            "wrong-contacts", place, f"{self.label}: {what}", got=got, expected=expected
        )
