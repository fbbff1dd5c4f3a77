from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.battery import (
    LEAD_ACID,
    LIPO,
    Battery,
    Stretch,
    cut_off_v,
    hours,
    lasts,
    usable,
    used,
)
from host_tools.electrical.figure import Figure, Given, Refused


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "test")


def battery(capacity_ah: float = 7.0, k: float = 1.1) -> Battery:
    return Battery(
        "battery",
        LEAD_ACID,
        number(12, "V"),
        number(capacity_ah, "Ah"),
        number(20, "h"),
        number(k, ""),
    )


def value(found: Figure | Refused) -> float:
    assert isinstance(found, Figure)
    return found.value


CURRENTS = st.floats(0.001, 9.0)


@given(CURRENTS, CURRENTS, st.floats(1.0, 1.6))
def test_a_larger_current_never_lasts_longer_nor_gives_more_charge(
    one: float, other: float, k: float
) -> None:
    less, more = sorted((one, other))
    long, short = (value(hours(battery(k=k), number(amperes, "A"))) for amperes in (less, more))
    assert short <= long
    assert short * more <= long * less * (1 + 1e-9)
    assert long * less <= 7.0 * (1 + 1e-9)


@given(CURRENTS, st.floats(1, 1e6))
def test_a_steady_profile_is_the_same_as_a_steady_current(amperes: float, seconds: float) -> None:
    steady = [Stretch(amperes, seconds)]
    assert value(lasts(battery(), steady, "test")) == pytest.approx(
        value(hours(battery(), number(amperes, "A")))
    )


@given(st.lists(st.tuples(st.floats(0, 9), st.floats(1, 5000)), min_size=1, max_size=8), CURRENTS)
def test_drawing_more_never_uses_less(rows: list[tuple[float, float]], more: float) -> None:
    profile = [Stretch(*row) for row in rows]
    part = value(used(battery(), profile, "test"))
    heavier = [Stretch(min(one.current_a + more, 9.1), one.seconds) for one in profile]
    assert value(used(battery(), heavier, "test")) >= part


def test_by_hand() -> None:
    """7 Ah told for 20 h, k = 1.1. One hour at 0.35 A takes a twentieth; one at 3.5 A takes
    1 / (20 * 0.1^1.1) = 62.9 %."""
    day = [Stretch(0.35, 3600), Stretch(0, 3600), Stretch(3.5, 3600)]
    part = used(battery(), day, "trial 'a day'")
    assert value(part) == pytest.approx(5 + 62.95, abs=0.01)
    assert value(lasts(battery(), day, "test")) == pytest.approx(3 / 0.6795, abs=0.001)
    cold = usable(battery(), number(0, "C"))
    assert isinstance(cold, Figure)
    assert value(lasts(battery(), day, "test", cold)) == pytest.approx(0.85 * 3 / 0.6795, abs=0.001)


def test_short_peaks_are_borne_and_long_ones_refused() -> None:
    peaks = [Stretch(1.0, 3600), Stretch(12.0, 20)]
    assert isinstance(used(battery(), peaks, "test"), Figure)
    found = lasts(battery(), [Stretch(1.0, 3600), Stretch(12.0, 60)], "test")
    assert isinstance(found, Refused)
    assert "9.1 A" in found.why


def test_nothing_drawn_has_no_end() -> None:
    found = lasts(battery(), [Stretch(0, 3600)], "test")
    assert isinstance(found, Refused)
    assert found.why == "nothing is drawn from it"


def test_temperature_is_only_reckoned_with_where_there_is_a_table() -> None:
    lipo = Battery("pack", LIPO, number(11.1, "V"), number(5, "Ah"), LIPO.at, LIPO.peukert)
    assert isinstance(usable(lipo, number(0, "C")), Refused)
    assert value(usable(battery(), number(12.5, "C"))) == pytest.approx(92.5)
    assert value(usable(battery(), number(60, "C"))) == 102


def test_a_cut_off_beyond_the_table_is_its_last() -> None:
    assert cut_off_v(battery(), number(70, "A")).value == pytest.approx(8.7)
