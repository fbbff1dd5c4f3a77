from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from host_tools.electrical.coils import array_loses_v, driver_array
from host_tools.electrical.figure import Given

CURRENTS = st.lists(st.floats(0, 0.5), min_size=1, max_size=8)
AMBIENT = Given("surroundings", 40.0, "C", "test")


def outputs(currents: list[float]) -> list[Given]:
    return [Given("output", current, "A", "test") for current in currents]


@given(CURRENTS, st.floats(0, 0.5))
def test_a_further_output_never_cools_the_chip(currents: list[float], further: float) -> None:
    before = driver_array("array 1", outputs(currents), AMBIENT)
    after = driver_array("array 1", outputs([*currents, further]), AMBIENT)
    assert after.junction.value >= before.junction.value >= AMBIENT.value


@given(st.floats(0, 0.6), st.floats(0, 0.6))
def test_more_current_never_loses_less(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert array_loses_v(less) <= array_loses_v(more)
