"""Tick by tick is the same as all at once."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.load import load
from host_tools.cli.ships import starters
from host_tools.model import Model
from host_tools.model.stepwise import Stepwise
from host_tools.thumbs import random_trace
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.plan import Plan


def _is_the_same(plan: Plan, ticks: int, seed: int) -> None:
    trace = random_trace(plan, ticks, seed)
    whole = Model(plan).run(trace)
    pulses: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for tick, row in zip(trace.at.tolist(), trace.widths_half_us.tolist(), strict=True):
        pulses[tick] += [(source, width) for source, width in enumerate(row) if width]
    readings: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for tick, sensor, reading in zip(*(part.tolist() for part in trace.felt), strict=True):
        readings[tick].append((sensor, reading))
    ship = Stepwise(plan, trace.kept)
    assert whole.digests is not None
    for tick in range(ticks):
        driven = ship.tick(pulses[tick], readings[tick])
        assert driven.digest == whole.digests[tick]
        assert driven.lines == whole.lines[tick]
        assert list(driven.servos_half_us) == whole.servos_half_us[tick].tolist()
        assert list(driven.levels) == whole.levels[tick].tolist()
    assert ship.kept == whole.kept


@pytest.mark.parametrize("name", starters())
def test_each_starter(name: str) -> None:
    _is_the_same(load(starters()[name]).plan, 4_000, 7)


@given(st.integers(0, 10_000))
@settings(max_examples=15)
def test_any_plan(seed: int) -> None:
    _is_the_same(random_plan(seed), 1_500, seed)
