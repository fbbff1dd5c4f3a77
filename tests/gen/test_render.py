"""The sketch: the same bytes every time, everything in it, and nothing from this machine."""

from __future__ import annotations

import dataclasses
import getpass
import os
import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from gen import __version__
from gen.boards import load_board
from gen.load import load
from gen.render import render
from gen.render.ship_view import half_us
from gen.resources import resource
from tests.plans import random_plan

STARTERS = sorted((resource("templates") / "ships").glob("*.yaml"))

RENDER = """
import sys
from pathlib import Path
from gen.load import load
from gen.render import render
loaded = load(Path(sys.argv[1]))
for name, text in sorted(render(loaded.plan, loaded.board).items()):
    print(name, repr(text))
"""


def sketch_of(path: Path) -> dict[str, str]:
    loaded = load(path)
    return render(loaded.plan, loaded.board)


@pytest.mark.parametrize("starter", STARTERS, ids=lambda path: path.stem)
def test_same_bytes_under_two_hash_seeds(starter: Path) -> None:
    runs = [
        subprocess.run(
            [sys.executable, "-c", RENDER, str(starter)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert runs[0]
    assert runs[0] == runs[1]


@pytest.mark.parametrize("starter", STARTERS, ids=lambda path: path.stem)
def test_a_sketch_names_its_plan_and_file_and_nothing_of_this_machine(starter: Path) -> None:
    loaded = load(starter)
    main = sketch_of(starter)[f"{loaded.plan.code}.ino"]
    assert loaded.plan.plan_id in main
    assert __version__ in main
    assert starter.name in main
    everything = "".join(sketch_of(starter).values())
    for private in (str(Path.home()), str(starter.parent), f"{datetime.now(tz=UTC):%Y-%m-%d}"):
        assert private not in everything
    assert not re.search(rf"\b{re.escape(getpass.getuser())}\b", everything)


@pytest.mark.parametrize("starter", STARTERS, ids=lambda path: path.stem)
def test_one_line_a_function_with_its_line_of_the_ship_file(starter: Path) -> None:
    loaded = load(starter)
    main = sketch_of(starter)[f"{loaded.plan.code}.ino"]
    written = starter.read_text(encoding="utf-8").splitlines()
    for function in loaded.plan.functions:
        rows = [
            row
            for row in main.splitlines()
            if re.match(rf"constexpr \w+ +{function.code} +\{{", row)
        ]
        assert len(rows) == 1
        found = re.search(rf"// {re.escape(starter.name)}:(\d+)", rows[0])
        assert found
        assert written[int(found[1]) - 1].strip().startswith(f"{function.name}:")


def test_only_the_behaviours_that_a_ship_uses_are_included() -> None:
    plan = random_plan(0)
    used = {header for function in plan.functions for header in function.headers}
    sketch = render(plan, load_board("mega"))
    assert {name for name in sketch if "/behaviours/" in name} == {
        f"src/behaviours/{key}.h" for key in used
    }


def test_the_sketch_has_no_heap_no_floats_no_string() -> None:
    """What a sketch must not do, in the text that is written by hand and in what is filled in."""
    barred = re.compile(
        r"\b(new|delete|malloc|free|float|double|String|std::|millis|micros|delay)\b"
    )
    for starter in STARTERS:
        for name, text in sketch_of(starter).items():
            code = re.sub(r"//.*|/\*.*?\*/|\"[^\"]*\"", "", text)
            assert not barred.search(code), name


@pytest.mark.parametrize(
    ("width", "text"), [(0, "us(0)"), (1400, "us(700)"), (1401, "half_us(1401)")]
)
def test_widths_are_written_in_whole_microseconds_where_they_are(width: int, text: str) -> None:
    assert half_us(width) == text


def test_lines_are_written_wherever_they_are_and_only_there() -> None:
    """On pins, on shift registers alone, or nowhere: then there is nothing to do."""
    ships = {path.stem: sketch_of(path)["src/board/wiring.h"] for path in STARTERS}
    assert "shift_into_" in ships["salvor-nano"]
    assert "void write_lines(const uint8_t* lines) {" in ships["salvor-nano"]
    without = dataclasses.replace(random_plan(0), lines=(), pairs=(), functions=())
    wiring = render(without, load_board("mega"))["src/board/wiring.h"]
    assert "inline void write_lines(const uint8_t*) {}" in wiring
