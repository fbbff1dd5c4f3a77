"""Conductors of insulated cables: IEC 60228, the most resistance at 20 C of class 5 (flexible)
plain copper, and its temperature correction.

The standard begins at 0.5 mm2. For 0.14, 0.25 and 0.34 mm2 usual cable data (from memory) are
138, 79 and 57 ohm/km. A university's table that has 110 mohm/m for 0.25 mm2 contradicts the
resistivity of copper by more than a third and is not used.
"""

from __future__ import annotations

import pytest

from host_tools.electrical.figure import Given
from host_tools.electrical.wire import flexible_ohm_per_m, resistance, solid_ohm_per_m

CLASS_5_OHM_PER_KM = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98}
CLASS_2_OHM_PER_KM = {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41}
USUAL_OHM_PER_KM = {0.14: 138.0, 0.25: 79.0, 0.34: 57.0}  # from memory
CORRECTION = {5.0: 1.064, 30.0: 0.962, 50.0: 0.893, 70.0: 0.833, 90.0: 0.781}


@pytest.mark.parametrize("mm2", CLASS_5_OHM_PER_KM)
def test_class_5_is_the_table(mm2: float) -> None:
    assert 1000 * flexible_ohm_per_m(mm2) == pytest.approx(CLASS_5_OHM_PER_KM[mm2], rel=1e-9)


@pytest.mark.parametrize("mm2", CLASS_5_OHM_PER_KM)
def test_class_5_lies_13_to_16_percent_above_the_copper_and_class_2_between(mm2: float) -> None:
    solid = 1000 * solid_ohm_per_m(mm2)
    assert solid < CLASS_2_OHM_PER_KM[mm2] < CLASS_5_OHM_PER_KM[mm2]
    assert 1.13 <= CLASS_5_OHM_PER_KM[mm2] / solid <= 1.16


@pytest.mark.parametrize("mm2", USUAL_OHM_PER_KM)
def test_below_the_standard_usual_cable_data_are_met(mm2: float) -> None:
    assert 1000 * flexible_ohm_per_m(mm2) == pytest.approx(USUAL_OHM_PER_KM[mm2], rel=0.015)


@pytest.mark.parametrize("celsius", CORRECTION)
def test_temperature_within_half_a_percent_of_the_standards_rounded_coefficient(
    celsius: float,
) -> None:
    """The standard's table has 1 / (1 + 0.004 (t - 20)); copper's own coefficient is 0.00393."""
    size, length = Given("S", 1.5, "mm2", "table"), Given("L", 1000.0, "m", "table")
    warm = resistance("wire", size, length, Given("t", celsius, "C", "table"))
    assert warm.value * CORRECTION[celsius] == pytest.approx(13.3, rel=0.006)
