"""Current-carrying capacity of connectors: IEC 60512-5-2 (test 5b, derating): the working curve
is 0.8 of the measured one. 25-way D-sub contacts: 6.5 A alone (a maker's catalogue: stamped
contacts); 5 A for planning and 3 A when all 25 are loaded (IEC 60807-2/-3, from memory).
"""

from __future__ import annotations

import pytest

from host_tools.electrical.contacts import allowed_a, returns_needed
from host_tools.electrical.figure import Given


def count(number: float) -> Given:
    return Given("contacts", number, "", "test")


STAMPED = Given("rating", 6.5, "A", "a maker's catalogue of D-sub contacts")


def test_one_contact_alone_carries_0_8_of_its_rating() -> None:
    alone = allowed_a("plug", STAMPED, count(25), count(1))
    assert alone.value == pytest.approx(0.8 * 6.5)
    assert alone.value == pytest.approx(5.0, rel=0.05)  # the planning value


def test_all_25_together_carry_about_3_a_each() -> None:
    assert allowed_a("plug", STAMPED, count(25), count(25)).value == pytest.approx(3.0, rel=0.05)


def test_24_functions_on_one_return_are_too_many_unless_they_draw_little() -> None:
    """A 25-way connector with one return for 24 functions is common practice, no source. That
    return bears 3.1 A: 0.13 A for each of 24 that are on at once."""
    plug = {"rating_a": STAMPED, "contacts": count(25), "feeding": count(24)}
    assert returns_needed("plug", Given("sum", 24 * 0.12, "A", "test"), **plug) is not None
    assert returns_needed("plug", Given("sum", 24 * 0.15, "A", "test"), **plug) is None
