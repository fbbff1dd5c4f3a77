"""Rules are read in three forms; what cannot be read is told with its place."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.diagnostics import Problems
from gen.load import load_text
from gen.plan import StateOf
from gen.read.rules import AlwaysWithin, Lost, NeverBetween, NeverWhile, read_rules
from host_tools.cli.ships import starters

if TYPE_CHECKING:
    from gen.plan import Plan
    from gen.read.rules import Rule

LAUNCH = starters()["launch"].read_text(encoding="utf-8")


def read(*rules: str) -> tuple[Plan, tuple[Rule, ...], Problems]:
    """The launch with these rules; invented."""
    text = LAUNCH + "\nrules:\n" + "".join(f"  - {rule}\n" for rule in rules)
    loaded = load_text(text.encode())
    problems = Problems("ship.yaml")
    return loaded.plan, read_rules(loaded.ship, loaded.plan, problems), problems


def index(plan: Plan, name: str) -> int:
    return next(i for i, one in enumerate(plan.functions) if one.name == name)


def test_three_forms() -> None:
    plan, rules, problems = read(
        "never capstan heaving while horn",
        "always horn off within 1 s of lost signal on deck keys",
        "after bell until navigation lights never capstan",
    )
    assert not problems.found
    line = LAUNCH.count("\n") + 3
    capstan, horn, bell, lights = (
        index(plan, name) for name in ("capstan", "horn", "bell", "navigation lights")
    )
    heaving = plan.functions[capstan].states.index("heaving")
    deck_keys = next(i for i, one in enumerate(plan.channels) if one.name == "deck keys")
    never, always, between = rules
    assert never == NeverWhile(
        "never capstan heaving while horn", line, StateOf(capstan, (heaving,)), StateOf(horn, (1,))
    )
    assert isinstance(always, AlwaysWithin)
    assert (always.what, always.ticks, always.of) == (
        StateOf(horn, (0,)), 200, Lost((deck_keys,)),
    )  # fmt: skip
    assert isinstance(between, NeverBetween)
    assert (between.begin, between.end) == (StateOf(bell, (1,)), StateOf(lights, (1,)))
    assert between.what == StateOf(capstan, (1, 2))


def test_rules_do_not_change_the_plan() -> None:
    plan, _, _ = read("never capstan while horn")
    assert plan.plan_id == load_text(LAUNCH.encode()).plan.plan_id


@pytest.mark.parametrize(
    ("rule", "code", "said"),
    [
        ("never capstan", "rule-words", "no rule is written so"),
        ("never capstn while horn", "unknown-name", "there is no such function"),
        ("never capstan flying while horn", "unknown-name", "no such state"),
        ("always horn off within soon of lost signal", "wrong-number", "the time"),
        ("always horn off within 1 s of lost signal on mast", "unknown-name", "no such channel"),
    ],
)
def test_what_cannot_be_read_is_told(rule: str, code: str, said: str) -> None:
    _, rules, problems = read(rule)
    assert not rules
    (problem,) = problems.found
    assert problem.code == code
    assert said in problem.what
    assert problem.line == LAUNCH.count("\n") + 3
