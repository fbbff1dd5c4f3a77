"""A behaviour is whole: every place that DEVELOPERS.md names has it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from gen.behaviours import REGISTRY
from gen.load import load
from gen.resources import resource
from host_tools.model.behaviours import MODELS
from tests.plans import random_plan

GUIDE = resource("templates") / "guide"
LADDER = Path(__file__).parents[1] / "host_tools" / "test_ladder.py"
BY_HAND = Path(__file__).parents[1] / "host_tools" / "model"

SKELETON = """
ship: Example
board: nano
receiver: {channels: {deck keys: D2, lamp: D3, davit keys: D4}}
controls:
  deck key: {from: deck keys}
  davit key: {from: davit keys}
  lamp knob: {from: lamp, kind: knob}
sensors:
  spare float: D13
  bilge sensor: {pin: A6, kind: analogue, divider: 47k/10k}
outputs:
  relay one: D5
  pump relay: D7
  relay two: D6
  cabin light: {pin: D11, kind: dimmer}
  davit pair: {lower: A0, raise: A1}
  lamp servo: {pin: D9, kind: servo}
  spare relay: A2
  spare pair: {lower: A3, raise: A4}
  spare servo: {pin: D10, kind: servo}
functions:
  spare one: {toggle: deck key up, drives: spare relay}
  spare winch:
    {winch: {lower: davit key down, raise: davit key up}, drives: spare pair,
     limit: {lower: 1 s, raise: 1 s}}
  spare pump: {auto: spare float closed, drives: pump relay}
  spare light: {follow: lamp knob, drives: spare servo}
"""


@pytest.mark.parametrize("key", REGISTRY)
def test_a_behaviour_has_all_its_parts(key: str) -> None:
    behaviour = REGISTRY[key]
    assert behaviour.key == key
    assert (resource("templates") / "sketch" / "behaviours" / f"{key}.h").is_file()
    assert behaviour in MODELS
    assert f"\n## {key}\n" in (GUIDE / "behaviours.md").read_text(encoding="utf-8")
    forced = re.findall(r"^\| ([a-z, ]+) \|", (GUIDE / "bench.md").read_text("utf-8"), re.MULTILINE)
    assert key in ", ".join(forced).split(", ")
    assert f"behaviours/{key}.h" in LADDER.read_text(encoding="utf-8") or key in (
        "toggle",  # these two are nothing but the parts that they share,
        "momentary",  # and faults are planted in those
    )
    by_hand = "".join(path.read_text(encoding="utf-8") for path in BY_HAND.glob("test_*.py"))
    assert re.search(rf"\b{behaviour.__name__}\(", by_hand)
    drawn = {type(f) for seed in range(40) for f in random_plan(seed).functions}
    assert behaviour in drawn
    starters = sorted((resource("templates") / "ships").glob("*.yaml"))
    assert any(behaviour in map(type, load(path).plan.functions) for path in starters)


def examples() -> list[tuple[str, str]]:
    text = (GUIDE / "behaviours.md").read_text(encoding="utf-8")
    return re.findall(r"\n## (\w+)\n.*?```yaml\nfunctions:\n(.*?)```", text, flags=re.DOTALL)


def test_the_guide_has_an_example_of_each() -> None:
    assert {key for key, _ in examples()} == set(REGISTRY)


@pytest.mark.parametrize(("key", "example"), examples())
def test_the_guides_examples_hold(key: str, example: str, tmp_path: Path) -> None:
    assert len(example.splitlines()) <= 6
    unused = [
        line
        for output in (
            *("relay one", "relay two", "cabin light", "davit pair", "lamp servo"),
            "bilge sensor",
        )
        for line in [next(row for row in SKELETON.splitlines() if row.startswith(f"  {output}:"))]
        if output not in example
    ]
    text = SKELETON
    for line in unused:
        text = text.replace(f"{line}\n", "")
    ship = tmp_path / "example.yaml"
    ship.write_text(text + example, encoding="utf-8")
    plan = load(ship).plan
    assert key in {function.key for function in plan.functions}
