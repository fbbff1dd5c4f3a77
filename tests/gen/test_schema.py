"""The JSON Schema agrees with the reader on what it can see."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from gen.resources import resource
from gen.schema import ship_schema

HERE = Path(__file__).parent
SCHEMA = json.loads(ship_schema())
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)
SEEN_BY_THE_SCHEMA = [
    *("missing-key", "not-yet", "unknown-key", "unknown-key.second"),
    *("wrong-kind", "wrong-kind.nothing", "unknown-word", "wrong-unit"),
    *("wrong-unit.none", "wrong-number", "wrong-range", "no-behaviour", "two-behaviours"),
    *("name-too-long", "bad-code-name", "many"),
]


def loaded(path: Path) -> Any:
    """As an editor sees it: with YAML's own guesses."""
    return yaml.safe_load(path.read_text(encoding="utf-8"))


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", sorted((HERE / "good").glob("*.yaml")), ids=lambda path: path.stem)
def test_good_ships_pass(path: Path) -> None:
    VALIDATOR.validate(loaded(path))


def test_starters_pass() -> None:
    starters = sorted((resource("templates") / "ships").glob("*.yaml"))
    assert len(starters) >= 3
    for path in starters:
        VALIDATOR.validate(loaded(path))


@pytest.mark.parametrize("name", SEEN_BY_THE_SCHEMA)
def test_what_an_editor_shows_before_the_tool_does(name: str) -> None:
    assert not VALIDATOR.is_valid(loaded(HERE / "bad" / f"{name}.yaml"))


@pytest.mark.parametrize("name", ["pin-twice", "unused", "driven-twice", "same-code"])
def test_what_needs_names_looked_up_is_left_to_the_tool(name: str) -> None:
    assert VALIDATOR.is_valid(loaded(HERE / "bad" / f"{name}.yaml"))
