"""Every starter is proved, its rules are, and what is refuted is told as a hand goes it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from gen.boards import load_board
from gen.diagnostics import Problems
from gen.load import load, load_text
from gen.read.rules import read_rules
from host_tools.cli import main
from host_tools.cli.ships import starters
from host_tools.formats.read_table import read_trace
from host_tools.prove.claims import claims_of
from host_tools.prove.claims.rules import rule_claims
from host_tools.prove.obligations import NOTED, PROVED, REFUTED, decide
from host_tools.prove.of_ship import ship_outcomes
from host_tools.prove.onlooker import first_failure
from host_tools.thumbs import random_trace

if TYPE_CHECKING:
    from pathlib import Path


@pytest.mark.parametrize("name", list(starters()))
def test_starters_are_proved(name: str) -> None:
    loaded = load(starters()[name])
    plan = loaded.plan
    told = list(ship_outcomes(loaded.ship, plan, load_board(plan.board)))
    assert len(told) > 3 * len(plan.functions)
    assert [one for one in told if one.verdict not in (PROVED, NOTED)] == []


@pytest.mark.parametrize("name", ["launch", "cutter", "lightship"])
def test_what_is_proved_holds_for_random_thumbs(name: str) -> None:
    """A claim that was written wrong may be proved; it is then not what the ship does."""
    plan = load(starters()[name]).plan
    trace = random_trace(plan, 600, 3).without_forces()
    assert [one.text for one in claims_of(plan) if first_failure(plan, one, trace)] == []


RULES = [
    ("never capstan heaving while capstan paying out", PROVED),
    ("always horn off within 0.1 s of lost signal", PROVED),
    ("never capstan while horn", REFUTED),
    ("always navigation lights off within 1 s of lost signal", REFUTED),
    ("after navigation lights until navigation lights off never capstan", REFUTED),
]


@pytest.mark.parametrize(("rule", "verdict"), RULES)
def test_rules_are_proved_or_refuted(rule: str, verdict: str) -> None:
    text = starters()["launch"].read_text(encoding="utf-8") + f"\nrules: [{rule}]\n"
    loaded = load_text(text.encode())
    rules = read_rules(loaded.ship, loaded.plan, Problems("ship.yaml"))
    (claim,) = rule_claims(loaded.plan, rules)
    outcome = decide(loaded.plan, claim)
    assert outcome.verdict == verdict
    assert (outcome.refutation is None) == (verdict == PROVED)


def test_a_refutation_is_told_and_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    text = starters()["launch"].read_text(encoding="utf-8")
    file = tmp_path / "launch.yaml"
    file.write_text(text + "\nrules: [never capstan while horn]\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert main(["prove", str(file), "--only", "while horn", "--on", "model", "--json"]) == 1
    (told,) = json.loads(capsys.readouterr().out)["obligations"]
    assert told["verdict"] == "refuted"
    assert told["seen"] == ["model"]
    assert told["steps"][-1].startswith("expect capstan stopped")
    trace = read_trace(tmp_path / told["trace"])
    assert trace.ticks > told["tick"]
