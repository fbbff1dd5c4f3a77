"""Wire gauges: ASTM B258 (diameters) and IEC 60028 (copper) against a published resistance table.

Diameter: ASTM B258: 0.127 mm * 92^((36 - n) / 39). Resistivity: IEC 60028: 1/58 ohm mm2/m at 20
C, 0.00393/K. Resistances: the wire gauge table in Floyd, "Electric Circuit Fundamentals", in ohm
per 1000 ft at 20 C, which other tables repeat. Currents: Handbook of Electronic Tables and
Formulas for American Wire Gauge, columns "chassis wiring" (single wires in free air) and "power
transmission" (700 circular mils an ampere); the handbook calls both rules of thumb.
"""

from __future__ import annotations

import pytest

from host_tools.electrical.figure import Given
from host_tools.electrical.wire import (
    COPPER,
    WARMING,
    Column,
    Size,
    ampacity,
    awg_diameter_mm,
    awg_mm2,
    bundle_a,
    free_air_a,
    solid_ohm_per_m,
)

M_PER_KFT = 304.8

# gauge: diameter in mm, cross section in mm2, ohm/kft, chassis in A, power transmission in A
TABLE = {
    14: (1.628, 2.08, 2.525, 32, 5.9),
    16: (1.291, 1.31, 4.016, 22, 3.7),
    18: (1.024, 0.823, 6.385, 16, 2.3),
    20: (0.812, 0.518, 10.15, 11, 1.5),
    22: (0.644, 0.326, 16.14, 7, 0.92),
    24: (0.511, 0.205, 25.67, 3.5, 0.577),
    26: (0.405, 0.129, 40.81, 2.2, 0.361),
    28: (0.321, 0.081, 64.90, 1.4, 0.226),
    30: (0.255, 0.051, 103.2, 0.86, 0.142),
}


@pytest.mark.parametrize("gauge", TABLE)
def test_resistance_follows_from_the_two_standards_within_0_1_percent(gauge: int) -> None:
    ohm_per_kft = solid_ohm_per_m(awg_mm2(gauge)) * M_PER_KFT
    assert ohm_per_kft == pytest.approx(TABLE[gauge][2], rel=0.001)


@pytest.mark.parametrize("gauge", TABLE)
def test_diameters_and_cross_sections_to_the_digits_that_are_printed(gauge: int) -> None:
    diameter_mm, mm2, *_ = TABLE[gauge]
    assert awg_diameter_mm(gauge) == pytest.approx(diameter_mm, abs=0.00051)
    assert awg_mm2(gauge) == pytest.approx(mm2, abs=0.0051 if mm2 > 1 else 0.00051)


def test_the_two_gauges_that_define_the_series() -> None:
    """AWG 36 is 0.0050 in and AWG 0000 is 0.4600 in, with 39 steps between."""
    assert awg_diameter_mm(36) == pytest.approx(0.0050 * 25.4)
    assert awg_diameter_mm(-3) == pytest.approx(0.4600 * 25.4)
    assert awg_diameter_mm(20) / awg_diameter_mm(21) == pytest.approx(1.1229322, abs=1e-7)


def test_names_of_gauges() -> None:
    assert [Size.awg(gauge).name for gauge in (18, 0, -3)] == ["AWG 18", "AWG 0", "AWG 4/0"]
    assert Size.metric(0.25) == Size(0.25, "0.25 mm2")


@pytest.mark.parametrize("gauge", TABLE)
def test_both_columns_of_what_a_wire_carries(gauge: int) -> None:
    *_, chassis_a, power_a = TABLE[gauge]
    assert free_air_a(awg_mm2(gauge)) == chassis_a
    # Half of the last of two figures: 3.3 % of 1.5.
    assert bundle_a(awg_mm2(gauge)) == pytest.approx(power_a, rel=0.034)


def test_a_figure_says_which_column_it_is_by() -> None:
    size = Given("AWG 20", awg_mm2(20), "mm2", "ASTM B258")
    free, bundled = (ampacity("mast light", size, column) for column in Column)
    assert "chassis wiring" in free.source
    assert "free air" in free.what
    assert "power transmission" in bundled.source
    assert "bundle" in bundled.what
    assert free.value / bundled.value > 7


def test_copper_is_that_of_iec_60028() -> None:
    """0.017241 ohm mm2/m is what handbooks print for 1/58."""
    assert COPPER.value == pytest.approx(0.017241, abs=5e-7)
    assert WARMING.value == 0.00393
