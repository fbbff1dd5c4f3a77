from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Given
from host_tools.electrical.fuses import (
    BLADE,
    GLASS_SLOW,
    KINDS,
    SURGE,
    USED,
    Chosen,
    FuseKind,
    choose,
    judge,
    most_a,
    opening,
)

AMPERES = st.floats(0.01, 60)


def amps(value: float) -> Given:
    return Given("I", value, "A", "test")


def chosen(
    kind: FuseKind,
    load: float,
    wires: tuple[float, ...],
    contacts: tuple[float, ...] = (),
    surge: float | None = None,
) -> Chosen:
    most = most_a("feed", kind, [amps(one) for one in contacts], [amps(one) for one in wires])
    peak = amps(surge) if surge is not None else None
    return choose("feed", kind, load_a=amps(load), most=most, surge_a=peak)


@given(
    st.sampled_from(list(KINDS.values())),
    AMPERES,
    st.lists(AMPERES, min_size=1, max_size=3),
    st.lists(AMPERES, max_size=3),
    st.none() | st.floats(0.01, 300),
)
def test_a_fuse_never_exceeds_wire_and_contact_and_carries_its_load(
    kind: FuseKind, load: float, wires: list[float], contacts: list[float], surge: float | None
) -> None:
    found = chosen(kind, load, tuple(wires), tuple(contacts), surge)
    if found.rating is None:
        assert not any(found.least.value <= one <= found.most.value for one in kind.ratings_a)
        return
    assert found.rating.value in kind.ratings_a
    assert found.rating.value <= min([*wires, *contacts])
    assert load <= USED.value * found.rating.value * (1 + 1e-12)
    sure_to_open = kind.blows_at * found.rating.value
    assert sure_to_open <= 1.45 * min(wires) * (1 + 1e-12)
    if surge is not None and found.bears_surge:
        assert kind.earliest_s(surge / found.rating.value) >= SURGE.value


@given(st.sampled_from(list(KINDS.values())), st.floats(0.01, 500), st.floats(0.01, 500))
def test_opening_time_falls_with_current(kind: FuseKind, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert kind.earliest_s(more) <= kind.earliest_s(less)
    assert kind.latest_s(more) <= kind.latest_s(less)
    assert kind.earliest_s(more) <= kind.latest_s(more)


@given(st.floats(0.1, 20), st.floats(0.1, 20), st.floats(0.5, 40))
def test_a_larger_load_never_makes_a_smaller_fuse(one: float, other: float, wire: float) -> None:
    less, more = sorted((one, other))
    small, large = chosen(BLADE, less, (wire,)), chosen(BLADE, more, (wire,))
    if large.rating is not None:
        assert small.rating is not None
        assert small.rating.value <= large.rating.value


def test_a_lamp_with_its_cold_surge() -> None:
    """0.8 A / 0.75 = 1.07 A would make 2 A; 6 A is three times that, and may open it in 0.06 s.
    Of 3 A it is twice, which it bears for 0.15 s."""
    assert chosen(BLADE, 0.8, (7.0,)).rating is not None
    found = chosen(BLADE, 0.8, (7.0,), surge=6.0)
    assert found.rating is not None
    assert (found.rating.value, found.colour, found.bears_surge) == (3, "violet", True)
    tight = chosen(BLADE, 0.8, (2.5,), surge=6.0)
    assert tight.rating is not None
    assert (tight.rating.value, tight.bears_surge) == (2, False)
    assert "none of them surely bears" in tight.rating.formula


def test_no_fuse_where_the_wire_is_too_thin() -> None:
    found = chosen(BLADE, 3.0, (3.5,))
    assert found.rating is None
    assert found.colour == ""
    assert (found.least.value, found.most.value) == (4.0, 3.5)


def test_a_fuse_that_is_given_is_judged_by_the_same_sums() -> None:
    most = most_a("feed", BLADE, [], [amps(5.0)])
    own = Given("fuse", 10.0, "A", "skerry.yaml:40")
    found = judge("feed", BLADE, own, load_a=amps(1.0), most=most, surge_a=amps(30.0))
    assert found.rating is not None
    assert found.rating.value > found.most.value
    assert found.rating.source == "skerry.yaml:40"
    assert not found.bears_surge
    calm = judge("feed", BLADE, own, load_a=amps(1.0), most=most, surge_a=None)
    assert calm.bears_surge


def test_a_stalled_motor() -> None:
    fuse = Given("fuse", 3.0, "A", "test")
    stalled = opening("davit", BLADE, fuse, amps(6.0))
    assert stalled.in_words == "opens within 0.15 s to 5 s"
    assert [stalled.comes_before(limit) for limit in (0.1, 3.0, 8.0)] == [False, None, True]
    weak = opening("davit", BLADE, fuse, amps(3.8))
    assert weak.in_words.startswith("may open after ")
    assert weak.comes_before(60.0) is None
    feeble = opening("davit", BLADE, fuse, amps(3.0))
    assert feeble.in_words == "never opens"
    assert feeble.comes_before(1e9) is False
    assert math.isinf(feeble.latest.value)


def test_a_slow_tube_bears_what_a_blade_does_not() -> None:
    assert GLASS_SLOW.earliest_s(3.5) > BLADE.earliest_s(3.5)


def test_beyond_the_bounds_it_takes_the_same_heat() -> None:
    assert BLADE.earliest_s(12.0) == pytest.approx(0.02 / 4)
    assert BLADE.latest_s(100.0) == 0.15
