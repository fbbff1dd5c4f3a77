"""Contacts of connectors: what each may carry, and how many lead the sum of all currents back.

A contact's rating is what one of them carries alone. Two things come off it: the working curve
is 0.8 of the curve that a maker measured (IEC 60512-5-2), and contacts that are loaded together
warm each other. The negative of everything that a connector feeds returns through it: one
contact for that is the commonest burnt pin there is.
"""

from __future__ import annotations

from dataclasses import dataclass

from host_tools.electrical.figure import MEMORY, Figure, Given, Input

WORKING = Given("working share", 0.8, "", "IEC 60512-5-2: working curve = 0.8 * measured curve")
"""What of a measured rating may be used."""

ALL_LOADED = Given(
    "share when all are loaded",
    0.6,
    "",
    f"25-way D-sub: 5 A a contact alone, 3 A when all are loaded (IEC 60807-2/-3) {MEMORY}",
)
"""What of that remains when every contact of a connector carries its part."""


def allowed_a(of: str, rating_a: Input, contacts: Input, loaded: Input) -> Figure:
    """What one contact may carry while `loaded` of the connector's contacts carry current: 0.8
    of its rating alone, 0.6 of that with all of them, in proportion between."""
    together = (loaded.in_unit("") - 1) / max(contacts.in_unit("") - 1, 1)
    share = 1 - (1 - ALL_LOADED.value) * min(max(together, 0.0), 1.0)
    return Figure(
        of,
        "what a contact may carry",
        rating_a.in_unit("A") * WORKING.value * share,
        "A",
        "I = rating * 0.8 * (1 - (1 - 0.6) * (loaded - 1) / (contacts - 1))",
        (rating_a, WORKING, ALL_LOADED, loaded, contacts),
        "IEC 60512-5-2; between one and all contacts in proportion (common practice, no source)",
    )


@dataclass(frozen=True)
class Returns:
    """So many contacts lead a connector's current back: `each` carries that, of `allowed`."""

    count: Figure
    each: Figure
    allowed: Figure

    @property
    def enough(self) -> bool:
        """Whether none carries more than it may."""
        return self.each.value <= self.allowed.value


def returning(
    of: str, count: Input, total_a: Input, *, rating_a: Input, contacts: Input, feeding: Input
) -> Returns:
    """`count` contacts share the return of `total_a`, the most that flows at once through the
    connector, while `feeding` of its contacts carry current to its loads. Returns are loaded
    contacts too, so that each further one lowers a little what all of them may carry."""
    loaded = Figure(
        of,
        "contacts that carry current",
        feeding.in_unit("") + count.in_unit(""),
        "",
        "those that feed and those that return",
        (feeding, count),
        "a count",
    )
    each = Figure(
        of,
        "current of each return",
        total_a.in_unit("A") / count.value,
        "A",
        "I = sum of what flows at once / returns",
        (total_a, count),
        "Kirchhoff's current law; that they share alike is common practice, no source",
    )
    number = Figure(of, "returns", count.value, "", "as given", (count,), count.source)
    return Returns(number, each, allowed_a(of, rating_a, contacts, loaded))


def returns_needed(
    of: str, total_a: Input, *, rating_a: Input, contacts: Input, feeding: Input
) -> Returns | None:
    """The fewest returns that are enough; None if all contacts that are left are too few."""
    left = int(contacts.in_unit("") - feeding.in_unit(""))
    for count in range(1, left + 1):
        tried = Given("returns", count, "", "counted up from 1 until they are enough")
        made = returning(of, tried, total_a, rating_a=rating_a, contacts=contacts, feeding=feeding)
        if made.enough:
            return made
    return None
