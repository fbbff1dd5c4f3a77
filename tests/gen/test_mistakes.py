"""Slips of the hand: whatever happens to a good ship file, it loads or says what is wrong."""

from __future__ import annotations

import json
import random
from pathlib import Path

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.codes import CODES
from gen.diagnostics import Problem, ShipError
from gen.load import load_text
from gen.schema import ship_schema

VALIDATOR = jsonschema.Draft202012Validator(json.loads(ship_schema()))
LINES = (Path(__file__).parent / "good" / "skerry.yaml").read_text(encoding="utf-8").splitlines()
WORDS = [
    *("", "~", "[]", "{}", "- a", "a: b", "0", "1 s", "D2", "D99", "900..1300 us", "yes", "up"),
    *("key", "rest", "'", '"', "\\", "}", "]", ":", "#", "&a", "*a", "!!int 1", "\t", "\u202e"),
    *("x" * 200, "лампа", "int", "relay 1", "davit pair", "foredeck key up", "light knob", "nano"),
]


def slipped(draw: random.Random) -> str:
    """The ship file after one to four slips."""
    lines = list(LINES)
    for _ in range(draw.randint(1, 4)):
        at = draw.randrange(len(lines))
        slip = draw.randrange(6)
        if slip == 0:
            del lines[at]
        elif slip == 1:
            lines.insert(at, lines[draw.randrange(len(lines))])
        elif slip == 2:
            other = draw.randrange(len(lines))
            lines[at], lines[other] = lines[other], lines[at]
        elif slip == 3:
            key, colon, _ = lines[at].partition(":")
            lines[at] = f"{key}{colon} {draw.choice(WORDS)}"
        elif slip == 4:
            words = lines[at].split(" ")
            words[draw.randrange(len(words))] = draw.choice(WORDS)
            lines[at] = " ".join(words)
        else:
            lines[at] = " " * draw.randrange(6) + lines[at].lstrip()
    return "\n".join(lines) + "\n"


@settings(max_examples=250, deadline=None)
@given(st.integers(0, 2**32))
def test_a_slip_loads_or_is_told_with_its_place(seed: int) -> None:
    text = slipped(random.Random(seed))
    for problem in told(text):
        assert problem.code in CODES
        assert 1 <= problem.line <= text.count("\n") + 1
        assert problem.col >= 1


def told(text: str) -> list[Problem]:
    """What is said about the file: at least one thing unless it has a plan."""
    try:
        loaded = load_text(text.encode())
    except ShipError as error:
        return error.problems or pytest.fail("refused, and not told why")
    assert len(loaded.plan.plan_id) == 12
    assert VALIDATOR.is_valid(yaml.safe_load(text)), "an editor would complain without reason"
    return loaded.problems
