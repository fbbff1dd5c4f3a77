from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.contacts import Returns, allowed_a, returning, returns_needed
from host_tools.electrical.figure import Given


def count(number: float) -> Given:
    return Given("contacts", number, "", "test")


def amps(value: float) -> Given:
    return Given("I", value, "A", "test")


def needed(total: float, rating: float, contacts: int, feeding: int) -> Returns | None:
    return returns_needed(
        "deckhouse plug",
        amps(total),
        rating_a=amps(rating),
        contacts=count(contacts),
        feeding=count(feeding),
    )


def test_by_hand() -> None:
    """9.9 A through 8 feeds of a 25-way plug of 5 A contacts: with 3 returns 11 are loaded, each
    may carry 5 * 0.8 * (1 - 0.4 * 10 / 24) = 3.33 A, just above a third of 9.9 A."""
    found = needed(9.9, 5.0, 25, 8)
    assert found is not None
    assert found.count.value == 3
    assert found.each.value == pytest.approx(3.3)
    assert found.allowed.value == pytest.approx(10 / 3)
    more = needed(10.1, 5.0, 25, 8)
    assert more is not None
    assert more.count.value == 4


@given(st.floats(0.1, 80), st.floats(0.5, 10), st.integers(2, 60), st.integers(1, 59))
def test_returns_bear_the_sum_and_one_less_would_not(
    total: float, rating: float, contacts: int, feeding: int
) -> None:
    found = needed(total, rating, contacts, feeding)
    if found is None:
        return
    returns = int(found.count.value)
    assert feeding + returns <= contacts
    assert found.each.value * returns == pytest.approx(total)
    assert found.each.value <= found.allowed.value
    if returns > 1:
        fewer = returning(
            "plug",
            count(returns - 1),
            amps(total),
            rating_a=amps(rating),
            contacts=count(contacts),
            feeding=count(feeding),
        )
        assert not fewer.enough


@given(st.integers(1, 60), st.integers(0, 70), st.integers(0, 70))
def test_more_that_are_loaded_never_raise_what_one_may_carry(
    contacts: int, one: int, other: int
) -> None:
    few, many = sorted((one, other))
    less, more = (
        allowed_a("plug", amps(5.0), count(contacts), count(loaded)).value for loaded in (many, few)
    )
    assert less <= more
    assert 5.0 * 0.8 * 0.6 <= less * (1 + 1e-12)


def test_a_plug_that_is_full_has_no_room_for_a_return() -> None:
    assert needed(1.0, 5.0, 8, 8) is None


def test_the_sum_can_be_followed_to_the_ship_file() -> None:
    found = needed(2.0, 5.0, 25, 8)
    assert found is not None
    total, _ = found.each.given
    assert total.source == "test"
    assert "IEC 60512-5-2" in found.allowed.source
