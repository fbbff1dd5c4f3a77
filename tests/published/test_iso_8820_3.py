"""Blade fuses: ISO 8820-3 (road vehicles, fuse-links with tabs): ratings, colours, opening times.

Ratings and colours: JASO D612, table 1. Bounds: 110 % and 135 % from two transcriptions of
makers' sheets that print the standard's table, 200 % and the longest times at 350 % and 600 %
from the 35 A and 40 A rows of such a sheet; 160 %, and the shortest times of small ratings at
350 % and 600 %, from memory. The longest times are the hard ones: a fuse must have opened by
then.
"""

from __future__ import annotations

import math

import pytest

from host_tools.electrical.figure import Given
from host_tools.electrical.fuses import BLADE, most_a, opening

COLOURS = {
    1: "black",
    2: "grey",
    3: "violet",
    4: "pink",
    5: "tan",
    7.5: "brown",
    10: "red",
    15: "blue",
    20: "yellow",
    25: "natural",
    30: "green",
}

# percent of the rating: not before, not after (s)
BOUNDS = {
    135: (0.75, 600.0),
    160: (0.25, 50.0),  # from memory
    200: (0.15, 5.0),
    350: (0.04, 0.5),  # 0.04 from memory; 0.08 of 35 A and 40 A
    600: (0.02, 0.15),  # 0.02 from memory
}


def test_ratings_and_colours() -> None:
    assert dict(zip(BLADE.ratings_a, BLADE.colours, strict=True)) == COLOURS
    assert BLADE.colour(7.5) == "brown"
    assert BLADE.colour(8) == ""


@pytest.mark.parametrize("percent", BOUNDS)
@pytest.mark.parametrize("rating_a", [1.0, 7.5, 30.0])
def test_bounds_of_opening_time(percent: int, rating_a: float) -> None:
    current = Given("I", rating_a * percent / 100, "A", "test")
    found = opening("feed", BLADE, Given("In", rating_a, "A", "test"), current)
    assert (found.earliest.value, found.latest.value) == pytest.approx(BOUNDS[percent])
    assert found.earliest.source.startswith("ISO 8820-3")


def test_at_110_percent_it_holds_for_100_hours_and_need_not_open() -> None:
    assert BLADE.earliest_s(1.10) == 100 * 3600
    assert math.isinf(BLADE.latest_s(1.10))
    assert math.isinf(BLADE.latest_s(1.349))


def test_any_blade_that_is_no_larger_than_its_wire_protects_it() -> None:
    """IEC 60364-4-43, 433.1: I2 <= 1.45 Iz; a blade's I2 is 1.35 In, so that In <= Iz is enough."""
    assert BLADE.blows_at == 1.35
    wire = Given("Iz", 4.2, "A", "test")
    assert most_a("feed", BLADE, [], [wire]).value == pytest.approx(4.2)
