"""Diodes and snubbers for relays: ADLINK PCI-7256 manual, p. 37, which prints the relay makers'
text.

Snubber: 0.5 to 1 ohm for each V, 0.5 to 1 uF for each A, the capacitor for 200 to 300 V. Diode:
reverse voltage at least ten times that of the circuit (two to three times in electronics),
forward current at least that of the load. The older rule of Bates, C = I^2 / 10 uF (Duniway
manual, A-2: 0.001 uF for 0.1 A), asks for less capacitance than the first up to 5 A, which is
all that a relay of a model switches.

A 5 V relay of the usual kind (suppliers' pages): coil of 70 ohm, 71.4 mA.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.coils import DIODES, flyback_diode, snubber
from host_tools.electrical.figure import Given


def volts(value: float) -> Given:
    return Given("supply", value, "V", "test")


def amps(value: float) -> Given:
    return Given("load", value, "A", "test")


@given(st.floats(1, 60), st.floats(0.02, 10))
def test_a_snubber_lies_within_the_rule(supply: float, load: float) -> None:
    found = snubber("davit", volts(supply), amps(load))
    assert 0.5 * supply <= found.resistor.value * (1 + 2e-6)
    assert found.resistor.value <= 1.0 * supply
    assert 0.5e-6 * load <= found.capacitor.value * (1 + 1e-8)
    assert found.capacitor.value <= 1.0e-6 * load


def test_a_motor_of_1_5_a_at_12_v() -> None:
    found = snubber("davit", volts(12), amps(1.5))
    assert (found.resistor.value, found.capacitor.shown()) == (6.8, "1 uF")


@pytest.mark.parametrize("load", [0.1, 0.5, 1.0, 2.0, 5.0])
def test_it_is_no_smaller_than_bates_would_have_it(load: float) -> None:
    assert 0.1**2 / 10 == pytest.approx(0.001)
    assert snubber("davit", volts(12), amps(load)).capacitor.value * 1e6 >= load**2 / 10


@pytest.mark.parametrize(
    ("supply", "coil", "usual"),
    [
        (5.0, 0.0714, "1N4148"),
        (12.0, 0.0714, "1N4004"),
        (12.0, 2.5, "1N5404"),
        (24.0, 6.0, "6A4"),
        (24.0, 9.0, "10A4"),
        (48.0, 9.0, ""),
    ],
)
def test_a_diode_bears_ten_times_the_supply_and_the_coils_current(
    supply: float, coil: float, usual: str
) -> None:
    found = flyback_diode("relay 1", volts(supply), amps(coil))
    assert found.usual == usual
    assert (found.reverse.value, found.forward.value) == (10 * supply, coil)
    for name, bears_v, bears_a in DIODES:
        if name == usual:
            assert bears_v >= 10 * supply
            assert bears_a >= coil


def test_the_coil_of_a_5_v_relay() -> None:
    assert 5 / 70 == pytest.approx(0.0714, abs=5e-5)
