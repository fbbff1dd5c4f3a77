"""A replay without the pulses that change nothing drives the same outputs."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from host_tools.model import Model
from host_tools.model.thin import thinned
from host_tools.thumbs import random_trace
from tests.host_tools.bench_ship import CENTRE, SETTLE_PULSES, UP, plan_with, worked
from tests.plans import random_plan


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 10**6), st.integers(1, 3000))
def test_outputs_are_the_same(plan_seed: int, trace_seed: int, ticks: int) -> None:
    plan = random_plan(plan_seed)
    trace = random_trace(plan, ticks, trace_seed)
    whole, thin = Model(plan).run(trace), Model(plan).run(trace, digests=False)
    assert np.array_equal(whole.lines, thin.lines)
    assert np.array_equal(whole.servos_half_us, thin.servos_half_us)
    assert thin.digests is None


def test_a_still_receiver_is_left_out_almost_wholly() -> None:
    plan = plan_with()
    trace = worked(plan, (4000, [CENTRE]), (4000, [UP])).trace
    kept = sum(len(ticks) for ticks, *_ in thinned(plan, trace))
    assert trace.rows * 3 == 6000
    assert kept == 3 * SETTLE_PULSES + SETTLE_PULSES  # each settles once; then one key moves
