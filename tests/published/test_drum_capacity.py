"""Rope on a drum: a wire-rope handbook's formula L = (A + D) * A * B * K, and worked examples.

In feet and inches, A depth of the flange, D barrel, B width, K = 0.2618 / d^2 (which is pi / 12
of it: one turn for each diameter). Published example: barrel 10 in, flange 20 in, 12 in wide,
1/2 in rope: 10 layers of 24 turns, "about 940 ft"; both formulas give 942.5 ft. Handbooks' own
tables of K are smaller for rope that is thicker than its name (1/4 in: 3.29 against 4.19, from
memory).

Second example: 20 m of 6 mm line on a 50 mm barrel, 60 mm wide: packed square, the volume makes
133.34 mm (the 138 printed as its answer is a rounding oddity); laid in layers, 7 of them make
134 mm and hold 20.23 m. Loose winding takes up to 30 % more room (a winch maker); at least three
wraps stay on (the manual of a winch, which paints five).
"""

from __future__ import annotations

import math

import pytest

from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.winding import (
    LOOSE,
    Drum,
    capacity,
    revolutions,
    run_s,
    wound,
)

M_PER_INCH = 0.0254
M_PER_FOOT = 0.3048


def metres(value: float) -> Given:
    return Given("test", value, "m", "published example")


def drum(*sizes_m: float, length_m: float) -> Drum:
    """Of barrel, width, flange and line; nothing is kept."""
    barrel_m, width_m, flange_m, line_m = map(metres, sizes_m)
    kept = Given("kept", 0, "", "published example")
    return Drum("winch", barrel_m, width_m, flange_m, line_m, metres(length_m), kept)


def test_about_940_ft() -> None:
    inches = drum(*(size * M_PER_INCH for size in (10, 12, 20, 0.5)), length_m=10)
    assert (inches.layers, inches.turns) == (10, 24)
    assert capacity(inches).value / M_PER_FOOT == pytest.approx(942.5, abs=0.05)
    depth, barrel, width, line = 5, 10, 12, 0.5
    handbook_ft = (depth + barrel) * depth * width * 0.2618 / line**2
    assert handbook_ft == pytest.approx(942.5, abs=0.05)
    assert math.pi / 12 == pytest.approx(0.2618, abs=1e-5)


def test_20_m_on_a_barrel_of_50_mm() -> None:
    found = drum(0.050, 0.060, 0.134, 0.006, length_m=20.0)
    layers = wound(found)
    assert (len(layers), found.layers, found.turns) == (7, 7, 10)
    assert layers[-1].diameter_m + 0.006 == pytest.approx(0.134)
    assert capacity(found).value == pytest.approx(20.23, abs=0.005)
    packed = math.sqrt(0.050**2 + 4 * 0.006**2 * 20 / (math.pi * 0.060))
    assert packed == pytest.approx(0.13334, abs=5e-6)


def test_1_2_m_on_a_model_winch() -> None:
    """8 mm drum, 15 mm wide, 0.8 mm line: 39.03 turns, 78.1 s at 30 rpm. With the diameter of
    the first layer throughout it would be 86.8 s, 11 % more."""
    found = drum(0.008, 0.015, 0.020, 0.0008, length_m=1.2)
    turns = revolutions(found)
    assert isinstance(turns, Figure)
    time = run_s(found, turns, Given("n", 30, "rpm", "published example"))
    assert turns.value == pytest.approx(39.03, abs=0.005)
    assert time.value == pytest.approx(78.1, abs=0.05)
    constant_s = 60 * 1.2 / (math.pi * 0.0088) / 30
    assert constant_s == pytest.approx(86.8, abs=0.05)


def test_loose_winding_takes_up_to_30_percent() -> None:
    assert LOOSE.value == 1.30
