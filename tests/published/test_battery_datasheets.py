"""Peukert's law against two datasheets of lead-acid batteries, and their other tables.

t = H * (C / (I * H))^k. Datasheet 1: a valve-regulated battery of 28 Ah: currents that drain it
in 20, 10, 5 and 1 h. Datasheet 2: one of 6 V, 1.3 Ah (LC-R061R3P): currents that drain it to 4.8
V in 3 min to 20 h. Cut-off by current, and capacity by temperature: datasheets of 12 V
valve-regulated batteries.

The trap: t = C / I^k, which calculators on the web print, is only right if C is what the battery
gives at 1 A: it has 100 Ah told for 20 h give 5 A for 14.5 h, and 250 Ah give 20 A for 5.1 h. A
law that does not return the rated time at the rated current is not Peukert's.
"""

from __future__ import annotations

import math

import pytest

from host_tools.electrical.battery import (
    CHEMISTRIES,
    LEAD_ACID,
    MOST_C,
    Battery,
    cut_off_v,
    full_v,
    hours,
    usable,
)
from host_tools.electrical.figure import Figure, Given, Refused

# By the hours that it lasts, the current in A.
SHEET_28_AH = {20.0: 1.4, 10.0: 2.65, 5.0: 5.0, 1.0: 21.0}
SHEET_1_3_AH = {
    3 / 60: 7.02,
    5 / 60: 5.53,
    10 / 60: 3.59,
    15 / 60: 2.67,
    20 / 60: 2.22,
    0.5: 1.64,
    0.75: 1.16,
    1.0: 0.921,
    1.5: 0.632,
    2.0: 0.488,
    3.0: 0.361,
    4.0: 0.276,
    5.0: 0.228,
    6.0: 0.183,
    10.0: 0.121,
    20.0: 0.0655,
}


def number(value: float, unit: str) -> Given:
    return Given("test", value, unit, "datasheet")


def battery(capacity_ah: float, k: float, volts: float = 12.0, at_h: float = 20.0) -> Battery:
    return Battery(
        "battery",
        LEAD_ACID,
        number(volts, "V"),
        number(capacity_ah, "Ah"),
        number(at_h, "h"),
        number(k, ""),
    )


def lasts_h(of: Battery, amperes: float) -> float:
    found = hours(of, number(amperes, "A"))
    assert isinstance(found, Figure)
    return found.value


def fitted(sheet: dict[float, float]) -> float:
    """The exponent from the rows of 20 h and 1 h: k = ln(t1 / t2) / ln(I2 / I1)."""
    return math.log(20) / math.log(sheet[1.0] / sheet[20.0])


def test_a_worked_example() -> None:
    """100 Ah told for 20 h, k = 1.2, 10 A: 8.706 h, which are 87.1 Ah."""
    assert lasts_h(battery(100, 1.2), 10) == pytest.approx(8.706, abs=0.0005)


@pytest.mark.parametrize(("capacity", "k", "at_a"), [(100, 1.2, 5.0), (250, 1.3, 12.5)])
def test_the_rated_current_gives_the_rated_time(capacity: float, k: float, at_a: float) -> None:
    assert lasts_h(battery(capacity, k), at_a) == pytest.approx(20)
    naive = capacity / at_a**k
    assert naive < 15


def test_the_naive_law_is_wrong_by_half() -> None:
    naive = 250 / 20**1.3
    assert naive == pytest.approx(5.089, abs=0.001)
    assert lasts_h(battery(250, 1.3), 20) == pytest.approx(10.86, abs=0.005)


def test_datasheet_1() -> None:
    """With k from 20 h and 1 h the law meets 10 h within 1.3 % and 5 h within 2.2 %."""
    k = fitted(SHEET_28_AH)
    assert k == pytest.approx(1.106, abs=0.0005)
    of = battery(28, k)
    assert lasts_h(of, 2.65) / 10 - 1 == pytest.approx(-0.013, abs=0.001)
    assert lasts_h(of, 5.0) / 5 - 1 == pytest.approx(-0.022, abs=0.001)


def test_datasheet_2_where_the_law_holds() -> None:
    k = fitted(SHEET_1_3_AH)
    assert k == pytest.approx(1.133, abs=0.0005)
    of = battery(1.31, k, volts=6)
    held = [time for time in SHEET_1_3_AH if time >= 0.5]
    assert len(held) == 11
    for time in held:
        assert lasts_h(of, SHEET_1_3_AH[time]) / time - 1 == pytest.approx(0, abs=0.041)


@pytest.mark.parametrize(("minutes", "too_much"), [(20, 0.11), (10, 0.28), (3, 1.0)])
def test_datasheet_2_where_it_does_not_hold_is_refused(minutes: float, too_much: float) -> None:
    k, amperes = fitted(SHEET_1_3_AH), SHEET_1_3_AH[minutes / 60]
    law_h = 20 * (1.31 / (amperes * 20)) ** k
    assert law_h / (minutes / 60) - 1 == pytest.approx(too_much, abs=0.012)
    found = hours(battery(1.3, k, volts=6), number(amperes, "A"))
    assert isinstance(found, Refused)
    assert "more than 1.3 C" in found.why


def test_the_refusal_begins_at_1_3_c() -> None:
    assert isinstance(hours(battery(10, 1.1), number(13.0, "A")), Figure)
    assert isinstance(hours(battery(10, 1.1), number(13.1, "A")), Refused)
    assert MOST_C.value == 1.3


@pytest.mark.parametrize(
    ("rate", "volts"),
    [(0.05, 10.5), (0.2, 10.5), (0.3, 10.2), (0.5, 10.2), (1.0, 9.9), (2.0, 9.3), (3.0, 8.7)],
)
def test_cut_off_of_12_v_lead_acid_by_current(rate: float, volts: float) -> None:
    assert cut_off_v(battery(7, 1.1), number(7 * rate, "A")).value == pytest.approx(volts)


@pytest.mark.parametrize(("celsius", "percent"), [(40, 102), (25, 100), (0, 85), (-15, 65)])
def test_capacity_by_temperature(celsius: float, percent: float) -> None:
    found = usable(battery(7, 1.1), number(celsius, "C"))
    assert isinstance(found, Figure)
    assert found.value == percent


def test_colder_than_the_table_there_is_no_answer() -> None:
    assert isinstance(usable(battery(7, 1.1), number(-16, "C")), Refused)


@pytest.mark.parametrize(
    ("name", "nominal_v", "cells", "full", "empty"),
    [
        ("lead-acid", 12.0, 6, 14.4, 10.5),
        ("lead-acid", 6.0, 3, 7.2, 5.25),
        ("LiFePO4", 12.8, 4, 14.6, 11.2),  # 3.65 V and 2.5 to 2.8 V a cell
        ("LiPo", 11.1, 3, 12.6, 9.9),  # 4.2 V; 3.3 V: practice, from memory
        ("NiMH", 7.2, 6, 8.7, 6.0),  # from memory
    ],
)
def test_cells_when_full_and_empty(
    name: str, nominal_v: float, cells: int, full: float, empty: float
) -> None:
    kind = CHEMISTRIES[name]
    of = Battery("battery", kind, number(nominal_v, "V"), number(7, "Ah"), kind.at, kind.peukert)
    assert of.cells.value == cells
    assert full_v(of).value == pytest.approx(full)
    assert cut_off_v(of, number(0.5, "A")).value == pytest.approx(empty)


def test_default_exponents_lie_in_the_published_ranges() -> None:
    """Sealed lead-acid 1.05 to 1.15, lithium about 1.05."""
    assert 1.05 <= CHEMISTRIES["lead-acid"].peukert.value <= 1.15
    assert CHEMISTRIES["LiFePO4"].peukert.value == CHEMISTRIES["LiPo"].peukert.value == 1.05
    assert math.isclose(CHEMISTRIES["lead-acid"].at.value, 20)
