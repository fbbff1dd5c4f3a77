"""What the sums of currents believe is proved, and told where it is not so."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import pytest

from gen.behaviours import Function, Loss, Toggle
from gen.boards import load_board
from gen.load import load, load_text
from gen.plan import Ask, Bar, Gate, StateOf
from gen.render import render
from host_tools import trial as trials
from host_tools.cli.ships import starters
from host_tools.electrical.of_ship import sum_up
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.prove import supplies
from host_tools.prove.claims.currents import current_claims
from host_tools.prove.confirm import confirmed
from host_tools.prove.induction import prove
from host_tools.prove.obligations import PROVED, REFUTED, decide
from host_tools.prove.supplies import supply_outcomes
from tests.host_tools.bench_ship import KEY_DOWN, KEY_UP, OTHER_DOWN, plan_with
from tests.host_tools.prove.faults import dimmer, momentary, toggle
from tests.host_tools.prove.forced_faults import with_bench
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.behaviours import Momentary
    from gen.plan import Plan

FIRST_ON = StateOf(0, (1,))
ONLY_WHILE = Gate(only_while=(FIRST_ON,))
KEPT_OFF = Gate(bars=(Bar((1,), FIRST_ON),))
KEEPS_OFF = Gate(bars=(Bar((1,), StateOf(1, (1,))),))


def stops(other: int) -> Gate:
    return Gate(both_is_stop=(other,))


def siren(ask: Ask) -> Momentary:
    """Beside the horn."""
    return momentary(name="siren", code="siren", ask=ask, drives=2)


PLANTED = {
    "a lamp that needs no other": (
        plan_with(toggle(), momentary(gate=ONLY_WHILE)),
        plan_with(toggle(), momentary()),
    ),
    "a horn that nobody keeps off": (
        plan_with(toggle(), momentary(gate=KEPT_OFF)),
        plan_with(toggle(), momentary()),
    ),
    "a light that fades into a horn": (
        plan_with(toggle(gate=KEEPS_OFF), dimmer(gate=KEPT_OFF, name="glow", code="glow")),
        plan_with(toggle(), dimmer(gate=KEPT_OFF, name="glow", code="glow")),
    ),
    "two that no longer stop each other": (
        plan_with(momentary(gate=stops(1)), toggle(gate=stops(0))),
        plan_with(momentary(), toggle()),
    ),
    "two positions of one key": (
        plan_with(momentary(ask=KEY_UP), siren(KEY_DOWN)),
        plan_with(momentary(ask=KEY_UP), siren(OTHER_DOWN)),
    ),
    "a horn that outlasts its signal": (
        plan_with(momentary(ask=KEY_UP), siren(KEY_DOWN)),
        plan_with(momentary(ask=KEY_UP, on_loss=Loss.ON), siren(OTHER_DOWN)),
    ),
}


@pytest.mark.parametrize("name", list(PLANTED))
def test_a_belief_that_does_not_hold_is_refuted(name: str) -> None:
    meant, planted = PLANTED[name]
    claims = list(current_claims(meant))
    assert claims
    assert all(prove(meant, claim) is not None for claim in claims)
    told = [decide(planted, claim) for claim in claims]
    way = next(one.refutation for one in told if one.verdict == REFUTED)
    assert way is not None
    assert way.trial is not None
    assert trials.run(planted, way.trial, Model(planted))


@pytest.mark.slow
@pytest.mark.parametrize("name", list(PLANTED))
def test_the_logic_goes_the_same_way(name: str) -> None:
    meant, planted = PLANTED[name]
    told = [decide(planted, claim) for claim in current_claims(meant)]
    way = next(one.refutation for one in told if one.refutation is not None)
    with LogicRung(planted, render(planted, load_board("nano"))) as logic:
        assert confirmed(planted, logic, way) is None


def test_a_force_may_do_what_no_key_does() -> None:
    """Each is proved with a bench, too: it says so."""
    plan = with_bench(momentary(ask=KEY_UP), siren(KEY_DOWN))
    (claim,) = current_claims(plan)
    assert "unless a bench forces it" in claim.text
    assert prove(plan, claim) is not None
    object.__setattr__(claim, "by_key", False)
    outcome = decide(plan, claim)
    assert outcome.verdict == REFUTED
    assert outcome.refutation is not None
    assert any(step.startswith("force horn") for step in outcome.refutation.steps)


@pytest.mark.parametrize("seed", [1, 2, 9])
def test_beliefs_about_drawn_plans_are_proved(seed: int) -> None:
    plan = random_plan(seed)
    assert [one.text for one in current_claims(plan) if prove(plan, one) is None] == []


def remembered(ask: Ask, other: int, line: int) -> Function:
    name = f"lamp {line}"
    return Toggle(
        name=name, code=f"lamp_{line}", on_loss=Loss.OFF, ask=ask, drives=line, remember=True,
        gate=stops(other),
    )  # fmt: skip


def test_what_is_remembered_is_not_driven_before_the_first_tick() -> None:
    plan = plan_with(remembered(KEY_UP, 1, 2), remembered(OTHER_DOWN, 0, 3))
    assert all(prove(plan, claim) is not None for claim in current_claims(plan))


@pytest.mark.parametrize("name", ["launch", "tender"])
def test_each_supply_has_its_worst_current(name: str) -> None:
    loaded = load(starters()[name])
    summed = sum_up(loaded.ship, loaded.plan, load_board(loaded.plan.board))
    told = list(supply_outcomes(summed))
    assert len(told) == len(loaded.ship.supplies or ())
    assert all(one.verdict == PROVED for one in told)
    assert any("as much was seen" in one.how for one in told)


HEAD = """
ship: Gannet
board: nano
receiver: {channels: {a: D2, b: D3}}
controls: {one: a, two: b}
outputs: {gate 1: D5, gate 2: D6}
functions:
  lamp: {toggle: one up, drives: gate 1, load: {supply: 12 V, draws: 2 A, kind: lamp}}
  pump: {toggle: two up, drives: gate 2, never with: lamp, load: {supply: 12 V, draws: 3 A, kind: motor}}
supplies: {12 V: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid}}
"""  # noqa: E501 - a ship file


def test_a_wrong_belief_is_told_with_the_supply(monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = load_text(HEAD.encode())
    summed = sum_up(loaded.ship, loaded.plan, load_board("nano"))
    (sound,) = supply_outcomes(summed)
    assert sound.verdict == PROVED
    assert sound.text.startswith("12 V never carries more than 3 A")
    assert "as much was seen on the model" in sound.how
    open_gates = tuple(dataclasses.replace(one, gate=Gate()) for one in loaded.plan.functions)
    without: Plan = dataclasses.replace(loaded.plan, functions=open_gates)
    monkeypatch.setattr(supplies, "decide", lambda _, claim: decide(without, claim))
    (wrong,) = supply_outcomes(summed)
    assert wrong.verdict == REFUTED
    assert wrong.refutation is not None
    assert "lamp and pump never come together" in wrong.how
