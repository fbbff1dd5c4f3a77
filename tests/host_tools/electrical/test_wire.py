from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.interpolate import power_law, straight
from host_tools.electrical.wire import (
    Column,
    Size,
    ampacity,
    bundle_a,
    drop,
    free_air_a,
    resistance,
    share,
)

THICK = st.one_of(st.floats(0.05, 30), st.integers(0, 36).map(lambda gauge: Size.awg(gauge).mm2))
COLUMNS = st.sampled_from(Column)


def size(mm2: float) -> Given:
    return Given("size", mm2, "mm2", "skerry.yaml:60")


def lost(
    mm2: float, amperes: float = 2.0, metres: float = 1.5, celsius: float = 40.0
) -> tuple[Figure, Figure]:
    """The drop there and back, and as a share of 12 V."""
    length = Given("length", metres, "m", "skerry.yaml:31")
    warm = Given("temperature", celsius, "C", "skerry.yaml:62")
    one_way = resistance("feed", size(mm2), length, warm)
    volts = drop("feed", Given("draws", amperes, "A", "skerry.yaml:31"), one_way)
    return volts, share("feed", volts, Given("supply", 12.0, "V", "skerry.yaml:40"))


def test_by_hand() -> None:
    """0.5 mm2, 1.5 m: 39 mohm/m * 1.5 m * (1 + 0.00393 * 20) = 63.1 mohm; 2 * 2 A * 63.1 mohm."""
    volts, part = lost(0.5)
    assert volts.value == pytest.approx(0.25239, abs=1e-5)
    assert part.value == pytest.approx(2.103, abs=1e-3)
    assert ampacity("feed", size(0.5), Column.BUNDLE).value == pytest.approx(1.41, abs=0.005)


@given(THICK, THICK, st.floats(0.001, 50), st.floats(0.01, 20), st.floats(-20, 80))
def test_a_thicker_wire_never_raises_the_drop(
    one: float, other: float, amperes: float, metres: float, celsius: float
) -> None:
    thin, thick = (lost(mm2, amperes, metres, celsius)[0] for mm2 in sorted((one, other)))
    assert thick.value <= thin.value


@given(THICK, st.floats(0, 50), st.floats(0, 50), st.floats(0.01, 20))
def test_a_larger_current_never_lowers_the_drop(
    mm2: float, one: float, other: float, metres: float
) -> None:
    less, more = (lost(mm2, amperes, metres)[1] for amperes in sorted((one, other)))
    assert more.value >= less.value


@given(THICK, THICK, COLUMNS)
def test_a_thicker_wire_carries_no_less_and_any_more_in_free_air(
    one: float, other: float, column: Column
) -> None:
    thin, thick = (ampacity("feed", size(mm2), column).value for mm2 in sorted((one, other)))
    assert thin <= thick
    assert bundle_a(one) < free_air_a(one)


def test_a_figure_can_be_followed_down_to_the_ship_file() -> None:
    volts, part = lost(0.5)
    assert part.given[0] == volts
    _, one_way = volts.given
    assert not isinstance(one_way, Given)
    sources = [given.source for given in one_way.given]
    assert {"skerry.yaml:60", "skerry.yaml:31", "skerry.yaml:62"} < set(sources)


POINTS = ((1.0, 10.0), (2.0, 5.0), (4.0, 5.0))


def test_between_points() -> None:
    assert [straight(POINTS, at) for at in (0.5, 1.0, 1.5, 2.0, 3.0, 9.0)] == [10, 10, 7.5, 5, 5, 5]
    assert [power_law(POINTS[:2], at) for at in (0.5, 1.0, 2.0, 4.0)] == pytest.approx(
        [20, 10, 5, 2.5]
    )
    assert straight(POINTS[:1], 3.0) == 10
