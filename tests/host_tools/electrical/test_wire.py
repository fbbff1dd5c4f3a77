from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given
from host_tools.electrical.interpolate import power_law, straight
from host_tools.electrical.wire import (
    SIZES,
    Column,
    Size,
    Wired,
    bundle_a,
    free_air_a,
    propose,
    wired,
)

THICK = st.one_of(st.floats(0.05, 30), st.integers(0, 36).map(lambda gauge: Size.awg(gauge).mm2))
COLUMNS = st.sampled_from(Column)


def given_a(amperes: float) -> Given:
    return Given("draws", amperes, "A", "test")


def made(size: Size, amperes: float = 2.0, metres: float = 1.5, celsius: float = 40.0) -> Wired:
    return wired(
        "feed",
        size,
        "test",
        current_a=given_a(amperes),
        length_m=Given("length", metres, "m", "test"),
        supply_v=Given("supply", 12.0, "V", "test"),
        temperature_c=Given("temperature", celsius, "C", "test"),
        column=Column.BUNDLE,
    )


def test_by_hand() -> None:
    """0.5 mm2, 1.5 m: 39 mohm/m * 1.5 m * (1 + 0.00393 * 20) = 63.1 mohm; 2 * 2 A * 63.1 mohm."""
    feed = made(Size.metric(0.5))
    assert feed.drop.value == pytest.approx(0.25239, abs=1e-5)
    assert feed.share.value == pytest.approx(2.103, abs=1e-3)
    assert feed.ampacity.value == pytest.approx(1.41, abs=0.005)


@given(THICK, THICK, st.floats(0.001, 50), st.floats(0.01, 20), st.floats(-20, 80))
def test_a_thicker_wire_never_raises_the_drop(
    one: float, other: float, amperes: float, metres: float, celsius: float
) -> None:
    thin, thick = (made(Size(mm2, ""), amperes, metres, celsius) for mm2 in sorted((one, other)))
    assert thick.drop.value <= thin.drop.value
    assert thick.ampacity.value >= thin.ampacity.value


@given(THICK, st.floats(0, 50), st.floats(0, 50), st.floats(0.01, 20))
def test_a_larger_current_never_lowers_the_drop(
    mm2: float, one: float, other: float, metres: float
) -> None:
    less, more = (made(Size(mm2, ""), amperes, metres) for amperes in sorted((one, other)))
    assert more.drop.value >= less.drop.value


@given(THICK, THICK)
def test_in_free_air_a_wire_carries_more_and_a_thicker_one_no_less(
    one: float, other: float
) -> None:
    thin, thick = sorted((one, other))
    assert free_air_a(thin) <= free_air_a(thick)
    assert bundle_a(thin) < free_air_a(thin)


def proposed(
    amperes: float, allowed_percent: float, column: Column, have: tuple[Size, ...] = SIZES
) -> Wired | None:
    return propose(
        "feed",
        have,
        "skerry.yaml:60",
        carries_a=given_a(amperes),
        current_a=given_a(amperes),
        length_m=Given("length", 1.2, "m", "test"),
        supply_v=Given("supply", 12.0, "V", "test"),
        temperature_c=Given("temperature", 40.0, "C", "test"),
        column=column,
        allowed_percent=Given("allowed", allowed_percent, "%", "test"),
    )


@given(st.floats(0.01, 20), st.floats(0.5, 10), COLUMNS)
def test_what_is_proposed_is_enough_and_the_size_below_is_not(
    amperes: float, allowed: float, column: Column
) -> None:
    found = proposed(amperes, allowed, column)
    if found is None:
        assert proposed(amperes, allowed, column, SIZES[-1:]) is None
        return
    assert found.ampacity.value >= amperes
    assert found.share.value <= allowed
    thinner = tuple(size for size in SIZES if size.mm2 < found.size.mm2)
    assert proposed(amperes, allowed, column, thinner) is None


def test_it_is_chosen_from_what_there_is_in_any_order() -> None:
    have = (Size.awg(18), Size.metric(1.5), Size.metric(0.25))
    found = proposed(1.0, 5, Column.BUNDLE, have)
    assert found is not None
    assert found.size.name == "AWG 18"
    assert proposed(9.0, 5, Column.BUNDLE, have) is None


def test_a_figure_can_be_followed_down_to_the_ship_file() -> None:
    found = proposed(1.0, 5, Column.FREE_AIR)
    assert found is not None
    lost, supply = found.share.given
    assert supply.source == "test"
    assert not isinstance(lost, Given)
    _, one_way = lost.given
    assert not isinstance(one_way, Given)
    assert "skerry.yaml:60" in [given.source for given in one_way.given]


POINTS = ((1.0, 10.0), (2.0, 5.0), (4.0, 5.0))


def test_between_points() -> None:
    assert [straight(POINTS, at) for at in (0.5, 1.0, 1.5, 2.0, 3.0, 9.0)] == [10, 10, 7.5, 5, 5, 5]
    assert [power_law(POINTS[:2], at) for at in (0.5, 1.0, 2.0, 4.0)] == pytest.approx(
        [20, 10, 5, 2.5]
    )
    assert straight(POINTS[:1], 3.0) == 10
