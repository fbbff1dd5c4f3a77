"""Driver arrays ULN2003 and ULN2803: Toshiba ULN2003APG, p. 4, and the onsemi, Texas Instruments
and Motorola sheets of the same parts.

500 mA and 50 V an output; VCE(sat) at most 1.1 V at 100 mA, 1.3 V at 200 mA, 1.6 V at 350 mA; an
input is on at 3.0 V with 300 mA and takes at most 1.35 mA at 3.85 V, so that a pin of the board
drives it with ease; Motorola: plastic DIP 55 K/W, junction at most 125 C.
"""

from __future__ import annotations

import pytest

from gen.boards import load_board
from host_tools.electrical.coils import (
    ARRAY_HOTTEST,
    ARRAY_OUTPUT_A,
    ARRAY_V,
    ARRAY_WARMS,
    array_loses_v,
    driver_array,
)
from host_tools.electrical.figure import Given


def amps(value: float) -> Given:
    return Given("output", value, "A", "test")


def at_c(value: float) -> Given:
    return Given("surroundings", value, "C", "test")


def test_limits() -> None:
    assert (ARRAY_OUTPUT_A.value, ARRAY_V.value) == (0.5, 50)
    assert (ARRAY_WARMS.value, ARRAY_HOTTEST.value) == (55, 125)


@pytest.mark.parametrize(("milliamperes", "volts"), [(100, 1.1), (200, 1.3), (350, 1.6)])
def test_what_an_output_loses(milliamperes: int, volts: float) -> None:
    assert array_loses_v(milliamperes / 1000) == pytest.approx(volts)


def test_eight_coils_of_100_ma_warm_it_by_48_k() -> None:
    """8 * 100 mA * 1.1 V = 0.88 W."""
    found = driver_array("array 1", [amps(0.1)] * 8, at_c(40))
    assert found.heat.value == pytest.approx(0.88)
    assert found.junction.value - 40 == pytest.approx(48.4)
    assert found.bears_it


def test_eight_times_what_one_may_carry_is_far_too_much() -> None:
    """The trap of the 500 mA: they are for one output at a time."""
    found = driver_array("array 1", [amps(0.5)] * 8, at_c(25))
    assert found.junction.value > 400
    assert not found.bears_it
    assert driver_array("array 1", [amps(0.5)], at_c(40)).bears_it


@pytest.mark.parametrize("name", ["nano", "mega", "micro"])
def test_a_pin_drives_an_input_with_ease(name: str) -> None:
    assert load_board(name).limits.pin_guaranteed_ma > 1.35
