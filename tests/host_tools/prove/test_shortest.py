"""A refutation is as short as its steps can be, to the tick."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from gen.read.steps import Expect, Wait
from gen.read.trial_steps import parse_step
from host_tools import trial as trials
from host_tools.prove.claims import claims_of
from host_tools.prove.obligations import REFUTED, decide
from host_tools.prove.onlooker import first_failure
from tests.host_tools.prove.faults import PLANNED

if TYPE_CHECKING:
    from tests.host_tools.prove.faults import Planned

SOME = [
    "a motor that may run hot",
    "a pause a tick short",
    "half a pause",
    "one way a tick too far",
]
FAULTS = [next(one for one in PLANNED if one.name == name) for name in SOME]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_no_wait_can_be_a_tick_shorter(fault: Planned) -> None:
    claims = [one for one in claims_of(fault.meant) if one.kind == fault.kind]
    told = [decide(fault.planted, claim) for claim in claims]
    one = next(one for one in told if one.verdict == REFUTED)
    way, claim = one.refutation, one.claim
    assert way is not None
    assert claim is not None
    assert way.trial is not None
    assert way.to_the_tick
    steps = [step for step in way.trial.steps if not isinstance(step, Expect)]
    waits = [place for place, step in enumerate(steps) if isinstance(step, Wait)]
    assert waits
    last = len(steps) - 1
    for place in waits:
        step = steps[place]
        assert isinstance(step, Wait)
        if step.ticks < 2 or place == last:
            continue  # the last one ends where the claim fails
        less = parse_step(f"wait {(step.ticks - 1) * 0.005:.3f} s", 0, fault.planted)
        shorter = replace(way.trial, steps=(*steps[:place], less, *steps[place + 1 :]))
        trace = trials.script(fault.planted, shorter).trace
        failed = first_failure(fault.planted, claim, trace)
        assert failed is None or failed[0] >= way.tick, (place, step.text)
