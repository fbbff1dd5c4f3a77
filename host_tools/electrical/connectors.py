"""Connectors: which circuit passes which contact, what each contact carries and may carry, and how
many of them lead the sum of it all back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import Problems, show
from gen.resolve.harness import contacts_of
from host_tools.electrical.contacts import allowed_a, returning, returns_needed
from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.rules import size_of
from host_tools.electrical.written import Written

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from gen.electric import ConnectorItem
    from gen.resolve.harness import Lead
    from gen.ship import Ship
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.consumers import Feed
    from host_tools.electrical.currents import Summing
    from host_tools.electrical.findings import Findings

RETURN_CLAUSE = "IEC 60512-5-2: working curve 0.8 of the base curve, less with all contacts loaded"


@dataclass(frozen=True)
class Plug:
    """A connector with what its contacts carry: `leads` by contact, with its current (None of a
    signal), and the contacts that are `returns`, `kept` spare and `free`. `allowed` is what one
    contact may carry, `returned` what all returns carry together at worst, `each` one of them."""

    item: ConnectorItem
    leads: dict[int, Lead]
    currents: dict[int, Figure | None]
    returns: tuple[int, ...]
    kept: tuple[int, ...]
    free: tuple[int, ...]
    allowed: Figure
    returned: Figure
    each: Figure | None
    wire: Given | None
    length: Given | None

    @property
    def name(self) -> str:
        """The connector's name."""
        return self.item.name.value

    def contacts_of(self, circuit: Circuit) -> list[int]:
        """The contacts that a circuit passes, by its positive side."""
        return [number for number, lead in self.leads.items() if _passes(lead, circuit)]


def plugs_of(
    ship: Ship,
    circuits: Sequence[Circuit],
    source: str,
    summing: Summing,
    findings: Findings,
) -> tuple[Plug, ...]:
    """Every connector of a ship."""
    return tuple(
        _Plugging(item, ship, circuits, source, summing).plug(findings)
        for item in ship.harness or ()
    )


def _passes(lead: Lead, circuit: Circuit) -> bool:
    """Whether a lead is one of this circuit's own."""
    if circuit.to is not None:
        return lead.of == circuit.name and not lead.output and circuit.is_wired
    feed = circuit.feed
    if feed is None or lead.is_signal or feed.kind not in ("load", "servo", "always"):
        return False
    if owner_of(feed) != lead.of or (feed.kind == "servo") != (lead.output == "power"):
        return False
    if lead.output in ("", "power"):
        return True
    return lead.output in feed.outputs or any(
        one.endswith(f" {lead.output}") for one in feed.outputs
    )


class _Plugging:
    """The sums of one connector."""

    def __init__(
        self,
        item: ConnectorItem,
        ship: Ship,
        circuits: Sequence[Circuit],
        source: str,
        summing: Summing,
    ) -> None:
        self.item = item
        self.name = item.name.value
        self.circuits = circuits
        self.written = Written(source)
        self.summing = summing
        # Whatever does not fit has been told when the ship file was read.
        self.found = contacts_of(item, ship, Problems(source))

    def plug(self, findings: Findings) -> Plug:
        """The connector; what is wrong with it is told."""
        item, found = self.item, self.found
        currents = {number: self._current(lead) for number, lead in found.leads.items()}
        returned = self._sum(
            "what returns at worst",
            [lead for lead in found.leads.values() if lead.returned],
            returned=True,
        )
        rating = self.written.given("rating", item.rating, "A")
        contacts = self.written.given("contacts", item.contacts, "")
        loaded = sum(1 for current in currents.values() if current is not None)
        feeding = Given("contacts that feed", loaded, "", "a count")
        counted = len(found.free)
        needed = returns_needed(
            self.name, returned, rating_a=rating, contacts=contacts, feeding=feeding
        )
        wanted = Given("returns", max(counted, 1), "", "all contacts that are free")
        if item.returns.value is not None:
            place = item.returns.place
            wanted = self.written.number("returns", item.returns.value, "", place)
        made = returning(
            self.name, wanted, returned, rating_a=rating, contacts=contacts, feeding=feeding
        )
        if item.returns.value is None and needed is not None and needed.count.value <= counted:
            made = needed
        any_returned = any(lead.returned for lead in found.leads.values())
        count = min(int(made.count.value), counted) if any_returned else 0
        returns = found.free[counted - count :] if count else ()
        allowed = made.allowed if count else allowed_a(self.name, rating, contacts, feeding)
        if count and not made.enough:
            self._too_few(made.each, allowed, returned, findings)
        self._check_contacts(currents, allowed, findings)
        wire = None
        if item.wire.value is not None:
            size = size_of(item.wire.value)
            wire = self.written.number(size.name, size.mm2, "mm2", item.wire.place)
        length = None
        if item.length is not None:
            length = self.written.given("cable", item.length, "m")
        return Plug(
            item,
            found.leads,
            currents,
            returns,
            found.kept,
            tuple(number for number in found.free if number not in returns),
            allowed,
            returned,
            made.each if count else None,
            wire,
            length,
        )

    def _current(self, lead: Lead) -> Figure | None:
        if lead.is_signal:
            return None
        return self._sum(f"current of {lead.text}", [lead])

    def _sum(self, what: str, leads: Iterable[Lead], *, returned: bool = False) -> Figure:
        """The most that flows at once in some leads. Of what `returned`, that comes back by a lead
        of its own which is switched to 0 V on this side."""
        of = list(leads)
        switched = {lead.of for lead in self.found.leads.values() if lead.fed_by}
        shares = [
            share
            for circuit in self.circuits
            if any(_passes(lead, circuit) for lead in of)
            for share in circuit.shares
            if not (returned and owner_of(share.feed) in switched)
        ]
        return self.summing.worst(self.name, shares, what)

    def _too_few(self, each: Figure, allowed: Figure, returned: Figure, findings: Findings) -> None:
        place = self.item.returns.place
        if self.item.returns.value is None:
            place = self.item.place
        findings.unsafe(
            "few-returns",
            place,
            f"connector {show(self.name)}: {returned.shown()} would come back by {_counted(each)}",
            got=f"{each.shown()} each",
            expected=f"at most {allowed.shown()}",
            clause=RETURN_CLAUSE,
        )

    def _check_contacts(
        self, currents: dict[int, Figure | None], allowed: Figure, findings: Findings
    ) -> None:
        places = {carried.what.value: carried.what.place for carried in self.item.carries}
        for number, current in currents.items():
            if current is not None and current.value > allowed.value:
                lead = self.found.leads[number]
                findings.unsafe(
                    "contact-overloaded",
                    places.get(lead.of, self.item.place),
                    f"connector {show(self.name)}: contact {number} ({lead.text}) carries too much",
                    got=current.shown(),
                    expected=f"at most {allowed.shown()}",
                    clause=RETURN_CLAUSE,
                )


def owner_of(feed: Feed) -> str:
    """The function or the load, always on, that a feed belongs to."""
    return feed.function.name.value if feed.function is not None else feed.name


def _counted(each: Figure) -> str:
    """In words: "one return", "3 returns", from what each of them carries."""
    count = int(each.given[1].value)
    return "one return" if count == 1 else f"{count} returns"
