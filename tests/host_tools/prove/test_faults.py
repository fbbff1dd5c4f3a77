"""Planted faults are refuted, each by a way that the model, the logic and the firmware go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.boards import load_board
from gen.render import render
from host_tools import trial as trials
from host_tools.agree import first_difference
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.prove.claims import claims_of
from host_tools.prove.confirm import confirmed
from host_tools.prove.induction import prove
from host_tools.prove.obligations import REFUTED, decide
from host_tools.prove.rung import ProofRung
from tests.host_tools.prove.faults import PLANNED, WRITTEN, Planned, Written

if TYPE_CHECKING:
    from host_tools.prove.obligations import Outcome

NANO = load_board("nano")


def test_there_are_enough_and_no_two_are_alike() -> None:
    assert len({one.name for one in PLANNED}) == len(PLANNED) >= 40


@pytest.mark.parametrize("fault", PLANNED, ids=lambda fault: fault.name)
def test_what_was_meant_is_proved(fault: Planned) -> None:
    """Otherwise a refutation would prove nothing."""
    meant = [one for one in claims_of(fault.meant) if one.kind == fault.kind]
    assert meant
    assert all(prove(fault.meant, claim) is not None for claim in meant)


def refuted(fault: Planned) -> Outcome:
    """The first refutation of a claim of the fault's kind."""
    meant = [one for one in claims_of(fault.meant) if one.kind == fault.kind]
    told = [decide(fault.planted, claim) for claim in meant]
    assert any(one.verdict == REFUTED for one in told), told
    return next(one for one in told if one.verdict == REFUTED)


@pytest.mark.parametrize("fault", PLANNED, ids=lambda fault: fault.name)
def test_a_planted_fault_is_refuted(fault: Planned) -> None:
    way = refuted(fault).refutation
    assert way is not None
    assert way.trial is not None, way.steps
    assert trials.run(fault.planted, way.trial, Model(fault.planted))
    assert confirmed(fault.planted, ProofRung(fault.planted), way) is None
