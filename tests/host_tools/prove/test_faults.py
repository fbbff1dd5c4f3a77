"""Planted faults are refuted, each by a way that the model, the logic and the firmware go."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any

import pytest

from gen.boards import load_board
from gen.plan import Light
from gen.render import render
from host_tools import trial as trials
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareRung
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.prove.claims import claims_of
from host_tools.prove.confirm import confirmed
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.induction import prove
from host_tools.prove.obligations import REFUTED, decide
from host_tools.prove.pulses import channel_lemmas, control_lemmas
from host_tools.prove.rung import ProofRung
from tests.host_tools.bench_ship import LOST_AFTER_TICKS
from tests.host_tools.prove.faults import PLANNED, WRITTEN, Planned, Written
from tests.host_tools.prove.forced_faults import FORCED

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.encoding.part import Memory
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
    found = [one for one in told if one.verdict == REFUTED and one.refutation is not None]
    assert found, told
    return min(found, key=lambda one: one.refutation is None or one.refutation.trial is None)


@pytest.mark.parametrize("fault", PLANNED, ids=lambda fault: fault.name)
def test_a_planted_fault_is_refuted(fault: Planned) -> None:
    way = refuted(fault).refutation
    assert way is not None
    assert way.trial is not None, way.steps
    assert trials.run(fault.planted, way.trial, Model(fault.planted))
    assert confirmed(fault.planted, ProofRung(fault.planted), way) is None


@pytest.mark.slow
@pytest.mark.parametrize("fault", PLANNED, ids=lambda fault: fault.name)
def test_the_logic_goes_the_same_way(fault: Planned) -> None:
    way = refuted(fault).refutation
    assert way is not None
    with LogicRung(fault.planted, render(fault.planted, NANO)) as logic:
        assert confirmed(fault.planted, logic, way) is None


def on_pins(plan: Plan) -> Plan:
    """The same on pins that a nano has free: two of the bench ship's parts share one."""
    return dataclasses.replace(plan, lights=(Light("light", "light", "D11", "OC2A"),))


@pytest.mark.slow
@pytest.mark.firmware
@pytest.mark.parametrize("fault", PLANNED, ids=lambda fault: fault.name)
def test_the_firmware_goes_the_same_way(fault: Planned) -> None:
    placed = dataclasses.replace(fault, meant=on_pins(fault.meant), planted=on_pins(fault.planted))
    way = refuted(placed).refutation
    assert way is not None
    sketch = render(placed.planted, NANO)
    with FirmwareRung.of_sketch(placed.planted, NANO, sketch) as firmware:
        assert confirmed(placed.planted, firmware, way) is None


@pytest.mark.parametrize("fault", [*WRITTEN, *FORCED], ids=lambda fault: fault.name)
def test_a_fault_in_the_logic_is_refuted_and_is_there(
    fault: Written, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the same fault in the encoding and in the C++: the way leads to it in both."""
    claims = [one for one in claims_of(fault.plan) if one.kind == fault.kind]
    assert all(prove(fault.plan, claim) is not None for claim in claims)
    monkeypatch.setattr(fault.encoding, fault.method, fault.wrong)
    ways = [decide(fault.plan, claim).refutation for claim in claims]
    way = next(one for one in ways if one is not None)
    sketch = render(fault.plan, NANO)
    text = sketch[f"src/{fault.header}"]
    assert fault.sound in text, "the planted fault no longer fits the sketch"
    sketch[f"src/{fault.header}"] = text.replace(fault.sound, fault.faulty, 1)
    with LogicRung(fault.plan, sketch) as logic:
        told = first_difference(ProofRung(fault.plan).run(way.trace), logic.run(way.trace))
    assert told is None


def _keeps_its_arms(self: ControlEncoding, me: Memory, alive: Any, lost: Any) -> None:
    was = me.armed
    _JUDGE(self, me, alive, lost)
    me.armed = self.a.any_of(me.armed, was)


def _armed_anywhere(self: ControlEncoding, me: Memory, alive: Any, lost: Any) -> None:
    _JUDGE(self, me, alive, lost)
    me.armed = self.a.any_of(me.armed, self.a.both(alive, me.position == 0))


_JUDGE = ControlEncoding.judge


@pytest.mark.parametrize("wrong", [_keeps_its_arms, _armed_anywhere])
def test_a_control_that_is_armed_wrongly_is_not_proved(
    wrong: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan = PLANNED[0].meant
    assert all(lemma.proved for lemma in control_lemmas(plan))
    monkeypatch.setattr(ControlEncoding, "judge", wrong)
    assert not any(lemma.proved for lemma in control_lemmas(plan))


@pytest.mark.parametrize("ticks", [LOST_AFTER_TICKS + 1, LOST_AFTER_TICKS * 2])
def test_a_channel_that_is_lost_late_is_not_proved(ticks: int) -> None:
    plan = PLANNED[0].meant
    late = dataclasses.replace(
        plan,
        channels=tuple(dataclasses.replace(one, lost_after_ticks=ticks) for one in plan.channels),
    )
    assert all(lemma.proved for lemma in channel_lemmas(plan, plan))
    assert not any(lemma.proved for lemma in channel_lemmas(late, plan))
