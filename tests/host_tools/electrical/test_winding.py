from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.figure import Figure, Given, Refused
from host_tools.electrical.winding import (
    Drum,
    capacity,
    drum_rpm,
    full,
    pull,
    revolutions,
    run_s,
    speed,
    travel,
    turns_in,
    wound,
)


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "test")


def drum(
    length_m: float = 1.2, kept: float = 3, line_m: float = 0.0008, width_m: float = 0.015
) -> Drum:
    return Drum(
        "davit",
        number(0.008, "m"),
        number(width_m, "m"),
        number(0.020, "m"),
        number(line_m, "m"),
        number(length_m, "m"),
        number(kept, ""),
    )


def turns(of: Drum) -> float:
    found = revolutions(of)
    assert isinstance(found, Figure)
    return found.value


LENGTHS = st.floats(0.001, 10)
KEPT = st.integers(0, 20)


@given(LENGTHS, KEPT)
def test_all_of_the_line_lies_in_layers_that_grow(length: float, kept: int) -> None:
    of = drum(length, kept)
    layers = wound(of)
    assert sum(layer.length_m for layer in layers) == pytest.approx(length)
    for below, above in itertools.pairwise(layers):
        assert above.number == below.number + 1
        assert travel(of, above).value > travel(of, below).value
        rpm = number(30, "rpm")
        assert speed(of, above, rpm).value > speed(of, below, rpm).value
        force = [
            pull(of, layer, number(0.004, "Nm"), number(200, ""), number(60, "%")).value
            for layer in (below, above)
        ]
        assert force[1] < force[0]
    assert all(layer.turns <= of.turns for layer in layers)


@given(LENGTHS, LENGTHS, KEPT)
def test_more_line_never_takes_fewer_turns(one: float, other: float, kept: int) -> None:
    less, more = sorted((one, other))
    assert turns(drum(less, kept)) <= turns(drum(more, kept))


@given(LENGTHS, KEPT, KEPT)
def test_more_kept_turns_never_take_more_turns_for_the_travel(
    length: float, one: int, other: int
) -> None:
    few, many = sorted((one, other))
    assert turns(drum(length, many)) <= turns(drum(length, few)) * (1 + 1e-12)


@given(LENGTHS, KEPT)
def test_what_fits_takes_no_more_layers_than_there_are(length: float, kept: int) -> None:
    of = drum(length, kept)
    fits = length <= capacity(of).value * (1 - 1e-9)
    assert (max((layer.number for layer in wound(of)), default=0) <= of.layers) or not fits
    if full(of).value <= 100:
        assert fits


def test_by_hand() -> None:
    """3 of 18 turns are kept: 15 turns of 27.65 mm, 18 of 32.67 mm, and 5.2 of 37.70 mm."""
    layers = wound(drum())
    assert [layer.number for layer in layers] == [1, 2, 3]
    assert [layer.turns for layer in layers] == pytest.approx([15, 18, 5.231], abs=0.001)
    assert [1000 * layer.turn_m for layer in layers] == pytest.approx(
        [27.65, 32.67, 37.70], abs=0.01
    )
    rpm = drum_rpm(drum(), number(6000, "rpm"), number(200, ""))
    assert rpm.value == 30
    travel_turns = revolutions(drum())
    assert isinstance(travel_turns, Figure)
    assert run_s(drum(), travel_turns, rpm).value == pytest.approx(76.46, abs=0.01)
    assert turns_in(drum(), rpm, number(8, "s")).value == pytest.approx(4)
    hauls = pull(drum(), layers[0], number(0.004, "Nm"), number(200, ""), number(60, "%"))
    assert hauls.value == pytest.approx(0.48 / 0.0044)
    assert speed(drum(), layers[0], rpm).value == pytest.approx(0.013823, abs=1e-6)


def test_more_kept_turns_than_a_layer_has() -> None:
    layers = wound(drum(kept=20))
    assert layers[0].number == 2
    assert layers[0].turns == pytest.approx(16)


def test_a_drum_that_is_narrower_than_its_line() -> None:
    narrow = drum(width_m=0.0005)
    found = revolutions(narrow)
    assert isinstance(found, Refused)
    assert found.why == "the drum is narrower than its line"
    assert wound(narrow) == ()
    assert full(narrow).shown() == "∞ %"


def test_turns_that_just_fit_are_not_lost_to_the_arithmetic() -> None:
    """15 mm / 0.3 mm are 50 turns, though 0.015 / 0.0003 is a little less."""
    assert drum(line_m=0.0003).turns == 50
    assert drum(line_m=0.001).layers == 6


def test_sizes_that_no_drum_has_are_refused_at_once() -> None:
    thread = drum(length_m=100, line_m=1e-9, width_m=1e-9)
    found = revolutions(thread)
    assert isinstance(found, Refused)
    assert found.why == "the line would take more than 1000 layers"
    assert len(wound(thread)) <= 1000
