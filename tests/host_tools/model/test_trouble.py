"""A share of the hours in trouble that the benchmarks run: nothing unasked for, nothing missed."""

from __future__ import annotations

import dataclasses

import pytest

from gen.load import load
from gen.resources import resource
from gen.response import press_ticks
from tests.benchmarks import trouble

PINNACE = load(resource("templates") / "ships" / "pinnace.yaml").plan


@pytest.mark.parametrize("seed", [1, 2])
def test_a_ship_in_trouble_does_what_it_is_asked_and_nothing_else(seed: int) -> None:
    verdict = trouble.tried(PINNACE, 0.25, seed)
    assert verdict.changes > 500
    assert verdict.presses > 300
    assert verdict.wrong == 0
    assert verdict.late_ticks <= 0


def test_the_judge_sees_a_ship_that_gives_up_too_early() -> None:
    """After 30 ms without a pulse: then a single one that is missing lets go of what is held."""
    hasty = tuple(dataclasses.replace(one, lost_after_ticks=6) for one in PINNACE.channels)
    assert trouble.tried(dataclasses.replace(PINNACE, channels=hasty), 0.25, 1).wrong > 0


def test_the_judge_sees_a_slow_ship() -> None:
    slow = tuple(dataclasses.replace(one, settle_pulses=5) for one in PINNACE.controls)
    run = dataclasses.replace(PINNACE, controls=slow)
    with pytest.MonkeyPatch.context() as patched:
        told = "tests.benchmarks.trouble.press_ticks"
        as_usual = [dataclasses.replace(one, settle_pulses=2) for one in slow]
        patched.setattr(
            told, lambda plan, one: press_ticks(plan, as_usual[plan.controls.index(one)])
        )
        assert trouble.tried(run, 0.1, 1).late_ticks > 0
