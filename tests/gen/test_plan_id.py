"""What the plan id depends on, and what it does not."""

from __future__ import annotations

import random
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.diagnostics import ShipError
from gen.load import load, load_text

SHIP = Path(__file__).parent / "good" / "skerry.yaml"
DATA = yaml.load(SHIP.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506 - it makes only texts
PLAN_ID = load(SHIP).plan.plan_id

OUTSIDE_THE_PLAN = {"load", "supplies", "trials", "remark"}
QUANTITY = re.compile(r"\d+(?:\.\d+)?(?= *(?:us|ms|s|min|pulses|deg/s|deg)\b)|\d+(?=\.\.)")


def written(data: Any, draw: random.Random, indent: str = "") -> str:
    """The same data in another order, style and quoting, with comments strewn in."""
    if isinstance(data, str):
        return draw.choice([f'"{data}"', f"'{data}'", data])
    if isinstance(data, list):
        return "".join(f"\n{indent}- {written(item, draw)}" for item in data)
    entries = list(data.items())
    draw.shuffle(entries)
    if indent and draw.random() < 0.3 and not any(isinstance(v, list) for v in data.values()):
        inside = ", ".join(f"{key}: {flow(value, draw)}" for key, value in entries)
        return f"{{{inside}}}"
    lines = []
    for key, value in entries:
        comment = draw.choice(["", f"\n{indent}# {draw.random()}", "\n"])
        deeper = indent + " " * draw.choice([1, 2, 5])
        lines.append(f"{comment}\n{indent}{key}: {written(value, draw, deeper)}")
    return "".join(lines) + draw.choice(["", "  # remark"]) * isinstance(entries[-1][1], str)


def flow(data: Any, draw: random.Random) -> str:
    if isinstance(data, str):
        return draw.choice([f'"{data}"', data])
    inside = ", ".join(f"{key}: {flow(value, draw)}" for key, value in data.items())
    return f"{{{inside}}}"


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32))
def test_order_comments_style_and_quotes_change_nothing(seed: int) -> None:
    text = written(DATA, random.Random(seed))
    assert load_text(text.encode()).plan.plan_id == PLAN_ID


def numbers(data: Any, path: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], int]]:
    """Where the numbers that the plan is made from stand: path, and position in the text."""
    if isinstance(data, str):
        return [(path, match.start()) for match in QUANTITY.finditer(data)]
    if isinstance(data, list):
        return []
    return [
        place
        for key, value in data.items()
        if key not in OUTSIDE_THE_PLAN
        for place in numbers(value, (*path, key))
    ]


NUMBERS = numbers(DATA)


def with_other_number(data: Any, path: tuple[str, ...], at: int, by: Decimal) -> Any:
    if not path:
        match = QUANTITY.match(data, at)
        assert match is not None
        return f"{data[:at]}{Decimal(match.group()) + by}{data[match.end() :]}"
    return {
        key: with_other_number(value, path[1:], at, by) if key == path[0] else value
        for key, value in data.items()
    }


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(NUMBERS), st.integers(1, 30))
def test_every_number_matters(place: tuple[tuple[str, ...], int], by: int) -> None:
    changed = with_other_number(DATA, *place, Decimal(by))
    try:
        plan = load_text(yaml.safe_dump(changed).encode()).plan
    except ShipError:
        return  # a number that makes no sense any more is refused, which also shows that it matters
    if place[0][-1] == "lost after" and by < 5:
        return  # less than a tick: the same plan
    assert plan.plan_id != PLAN_ID


def test_there_are_numbers_to_change() -> None:
    assert len(NUMBERS) >= 25


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("ship: Skerry Maid", "ship: Skerry Mate"),
        ("deck lights:", "deck lamps:"),
        ("pin: D9,", "pin: D3,"),
        ("pin: D8, active: low", "pin: D8, active: high"),
        ("toggle: foredeck key up", "momentary: foredeck key up"),
        ("reverse: yes", "reverse: no"),
        ("on loss: keep}\n  horn", "on loss: on}\n  horn"),
        ("board: nano", "board: nano\ncode name: maid"),
    ],
)
def test_every_word_matters(old: str, new: str) -> None:
    text = SHIP.read_text(encoding="utf-8")
    assert text.count(old) == 1
    assert load_text(text.replace(old, new).encode()).plan.plan_id != PLAN_ID


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("remark: buoy tender, 1/24", "remark: another remark"),
        ("draws: 0.8 A", "draws: 0.9 A"),
        ("limit: {lower: 8 s,", "limit: {lower: 8000 ms,"),
        ("900..1300 us", "0.9..1.3 ms"),
        ("board: nano", "board: nano\n\n\n"),
        ("expect deck lights on", "expect deck lights off"),
    ],
)
def test_what_does_not_matter(old: str, new: str) -> None:
    text = SHIP.read_text(encoding="utf-8")
    assert text.count(old) == 1
    assert load_text(text.replace(old, new).encode()).plan.plan_id == PLAN_ID


def test_the_file_name_does_not_matter() -> None:
    assert load_text(SHIP.read_bytes(), "other.yaml").plan.plan_id == PLAN_ID
