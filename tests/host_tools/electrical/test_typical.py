"""Typical currents and endurance, held against sums made by hand from a run that is known."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pytest

from gen.diagnostics import Problems
from gen.read.trial_steps import read_trials
from host_tools.electrical.figure import Figure, Refused
from host_tools.electrical.of_ship import Run, electrics_of
from host_tools.electrical.typical import HOLDING
from host_tools.model import Model
from host_tools.trial import answer, script
from tests.host_tools.electrical.wired import loaded

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics
    from host_tools.record import Record

TRIAL = """\
trials:
  a while:
    - wait 1 s
    - press key up
    - hold winch key down
    - wait 2 s
    - release winch key
    - move knob to 100 %
    - wait 1 s
    - expect lamps on
"""


class Ran(NamedTuple):
    record: Record
    made: Electrics
    lines: dict[str, int]


def ran(*changes: tuple[str, str], kept: slice = slice(None)) -> Ran:
    """The small ship after its trial, or after a part of what it did."""
    ship = loaded(("supplies:\n", f"{TRIAL}supplies:\n"), *changes)
    (trial,) = read_trials(ship.ship, ship.plan, Problems("x"))
    whole = answer(Model(ship.plan), script(ship.plan, trial))
    record = dataclasses.replace(
        whole,
        lines=whole.lines[kept],
        servos_half_us=whole.servos_half_us[kept],
        levels=whole.levels[kept],
        digests=None,
    )
    made = electrics_of(ship.ship, ship.plan, ship.board, Run(record, "trial 'a while'"))
    return Ran(record, made, {line.name: index for index, line in enumerate(ship.plan.lines)})


def part(run: Ran, line: str) -> float:
    """For which part of the run a line was on."""
    bits = run.record.lines >> np.uint64(run.lines[line]) & np.uint64(1)
    return float(bits.mean())


def mean(run: Ran, branch: str) -> float:
    found = run.made.branch(branch)
    assert found is not None
    assert found.typical is not None
    return found.typical.value


def test_means_are_currents_by_the_part_of_the_time_for_which_they_flow() -> None:
    run = ran()
    lamps, davit = part(run, "relay 1"), part(run, "davit pair lower")
    assert 0.5 < lamps < 0.95
    assert 0.2 < davit < 0.7
    assert part(run, "davit pair raise") == 0
    assert mean(run, "lamps") == pytest.approx(0.8 * lamps)
    assert mean(run, "davit") == pytest.approx(1.5 * davit)
    assert mean(run, "bell") == 0
    assert mean(run, "receiver") == pytest.approx(0.05)
    assert mean(run, "relay coils") == pytest.approx(0.072 * (lamps + davit))


def test_a_servo_takes_less_while_it_holds() -> None:
    run = ran()
    held = 0.2 * HOLDING.value
    assert held < mean(run, "servo") < 0.2
    still = ran(kept=slice(0, 50))
    assert mean(still, "servo") == pytest.approx(held)


def test_means_add_up_to_the_battery() -> None:
    run = ran()
    six = mean(run, "bell") + mean(run, "servo") + mean(run, "receiver")
    six += mean(run, "relay coils") + mean(run, "nano")
    assert mean(run, "6 V") == pytest.approx(six)
    twelve = mean(run, "lamps") + mean(run, "davit") + six * 6 / (10.5 * 0.9)
    assert mean(run, "12 V") == pytest.approx(twelve)
    assert mean(run, "battery") == pytest.approx(twelve)


def test_no_mean_is_above_the_worst() -> None:
    for branch in ran().made.branches:
        assert branch.typical is not None
        assert branch.typical.value <= branch.worst.value + 1e-9


def test_endurance_is_that_of_the_mean_where_peukerts_law_does_not_bend() -> None:
    """At no more than C / 20 h a battery gives its whole capacity: 50 ticks of the ship at rest."""
    run = ran(kept=slice(0, 50))
    (battery,) = run.made.batteries
    assert isinstance(battery.profile, Figure)
    assert isinstance(battery.temperature, Figure)
    at_rest = mean(run, "battery")
    assert at_rest < 7 / 20
    hours = 7 / at_rest * battery.temperature.value / 100
    assert battery.profile.value == pytest.approx(hours, rel=0.01)
    assert run.made.run == "trial 'a while', 0.250 s"


def test_a_battery_that_is_too_small_for_the_run_is_refused() -> None:
    run = ran(("capacity: 7 Ah", "capacity: 0.8 Ah"))
    (battery,) = run.made.batteries
    assert isinstance(battery.profile, Refused)
    assert "1.3 C" in battery.profile.why


def test_resistance_inside_is_lost() -> None:
    made = ran(("capacity: 7 Ah", "resistance: 50 mOhm, capacity: 7 Ah")).made
    (battery,) = made.batteries
    assert battery.sag is not None
    assert battery.sag.value == pytest.approx(battery.worst.value * 0.05)
