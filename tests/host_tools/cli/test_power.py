"""pinrail power, and what pinrail check says of wires."""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from gen.load import load
from host_tools.cli.ships import starters
from host_tools.cli.text_table import text_table
from host_tools.formats.write_table import format_trace
from host_tools.thumbs import random_trace
from tests.host_tools.electrical.wired import WIRED, changed

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.host_tools.cli.conftest import Told

    Run = Callable[..., Told]

ROOT = Path(__file__).parents[3]
TWELVE = "12 V: {from: battery, fuse: auto, length: 0.5 m}"
TRIAL = "trials:\n  a while:\n    - press key up\n    - wait 1 s\n    - expect lamps on\n"


def small(text: str = WIRED) -> str:
    Path("gannet.yaml").write_text(text, encoding="utf-8")
    return "gannet.yaml"


def test_the_usual_tables(run: Run) -> None:
    told = run("power", small())
    assert (told.code, told.err) == (0, "")
    for title in ("Supplies: ", "Circuits\n", "Fuses\n", "Connector plug: 9", "Battery battery"):
        assert title in told.out
    for title in ("Wires\n", "To buy\n", "Further figures\n", "typical"):
        assert title not in told.out
    assert "\n        6 V" not in told.out
    assert "\n      6 V " in told.out  # under 12 V, which is under the battery
    assert "held fast (6 A) it opens within" in told.out


def test_one_table_or_all(run: Run) -> None:
    assert run("power", small(), "--table", "wires").out.startswith("Wires\n")
    two = run("power", "gannet.yaml", "--table", "pins", "--table", "fuses").out
    assert two.index("The board's pins") < two.index("Fuses\n")
    every = run("power", "gannet.yaml", "--table", "all").out
    assert all(title in every for title in ("Wires\n", "To buy\n", "Further figures\n"))
    assert run("power", "gannet.yaml", "--table", "chairs").code == 2


def test_explain_follows_a_number_down(run: Run) -> None:
    told = run("power", small(), "--explain", "davit")
    assert told.code == 0
    assert "davit: worst current = 1.5 A" in told.out
    assert "davit draws = 1.5 A   [gannet.yaml:" in told.out
    assert "IEC 60228" in told.out
    as_json = run("power", "gannet.yaml", "--explain", "davit", "--json").json
    assert as_json["explained"]["name"] == "davit"
    told = run("power", "gannet.yaml", "--explain", "davitt")
    assert told.code == 2
    assert "error[unknown-name]" in told.err
    assert "did you mean 'davit'?" in told.err


def test_a_trial_gives_typical_currents(run: Run) -> None:
    told = run("power", small(WIRED + TRIAL), "--trial", "a while")
    assert told.code == 0
    assert ">" not in told.out
    assert "typical" in told.out
    assert "taken by trial 'a while'" in told.out
    told = run("power", "gannet.yaml", "--trial", "a whyle")
    assert told.code == 2
    assert "did you mean 'a while'?" in told.err


def test_a_trace_gives_them_too(run: Run) -> None:
    plan = load(Path(small())).plan
    text = "".join(format_trace(random_trace(plan, 2000, 1)))
    Path("day.trace").write_text(text, encoding="utf-8")
    told = run("power", "gannet.yaml", "--trace", "day.trace")
    assert told.code == 0
    assert "taken by trace day.trace, 10.000 s" in told.out
    assert run("power", "gannet.yaml", "--trace", "day.trace", "--trial", "x").code == 2


def test_what_is_unsafe_falls_short(run: Run) -> None:
    file = small(changed((TWELVE, TWELVE.replace("auto", "none"))))
    for command in ("power", "check"):
        told = run(command, file)
        assert told.code == 1
        assert "gannet.yaml:" in told.err
        assert "error[no-fuse]" in told.err
    assert "not safe to wire" in told.out


def test_what_is_unwise_does_not(run: Run) -> None:
    file = small(changed(("capacity: 7 Ah", "capacity: 1.2 Ah")))
    for command in ("power", "check"):
        told = run(command, file)
        assert told.code == 0
        assert "warning[battery-current]" in told.err


def test_a_ship_that_tells_nothing_is_told_what_is_missing(run: Run) -> None:
    assert run("new", "lightship").code == 0
    told = run("power", "lightship.yaml")
    assert told.code == 0
    assert (
        told.out.startswith("The board's pins") or "not summed: there are no supplies" in told.out
    )
    assert run("check", "lightship.yaml").code == 0


def test_machines_get_every_record(run: Run) -> None:
    made: Any = run("power", small(), "--json").json
    power = made["power"]
    branches = {branch["name"]: branch for branch in power["branches"]}
    assert branches["12 V"]["parent"] == "battery"
    assert branches["davit"]["worst"]["value"] == 1.5
    assert branches["davit"]["worst"]["unit"] == "A"
    assert branches["davit"]["typical"] is None
    assert power["wires"][0]["from"] == {"part": "battery", "point": "+"}
    assert power["connectors"][0]["contacts"][0]["carries"] == "lamps"
    assert json.dumps(made, allow_nan=False)


@pytest.mark.parametrize("name", sorted(starters()))
def test_starters_are_clean(run: Run, name: str) -> None:
    assert run("new", name).code == 0
    told = run("power", f"{name}.yaml", "--json")
    assert told.code == 0
    codes = [one["code"] for one in told.json.get("problems", [])]
    assert codes == []


def test_the_largest_starter_is_told_everything(run: Run) -> None:
    assert run("new", "salvor").code == 0
    told = run("power", "salvor.yaml", "--table", "all")
    assert "not summed: " not in told.out
    lines = told.out.splitlines()
    assert max(map(len, lines)) < 200
    (plug,) = (line for line in lines if line.startswith("Connector deckhouse plug"))
    assert "25 contacts of 5 A" in plug
    assert plug.endswith("come back by 2 returns")


def test_the_largest_starter_takes_less_than_two_seconds() -> None:
    """As a process, of the processor's time: that is the same however busy the computer is."""
    entry = "import sys; from host_tools.cli import main; sys.exit(main())"
    command = [sys.executable, "-c", entry, "power", str(starters()["salvor"])]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        command, check=True, capture_output=True, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime < 2


def test_columns_line_up_in_any_script() -> None:
    rows = [("läufer", "1 A"), ("錨灯", "20 mA"), ("a", "")]
    lines = list(text_table("T", ("name", ">current"), rows))
    assert lines == [
        "T",
        "  name    current",
        "  läufer      1 A",
        "  錨灯      20 mA",
        "  a",
    ]
    assert list(text_table("T", ("a", "b"), [("x", "")])) == ["T", "  a", "  x"]
