"""The ship file is edited while the bench runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.host_tools.bench.benches import OnBench, starter
from tests.host_tools.bench.boards import Boards

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def ship(tmp_path: Path) -> Path:
    path = tmp_path / "tender.yaml"
    path.write_bytes(starter("tender").read_bytes())
    return path


def test_new_plan_runs_at_once(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.5)
    plan, until = bench.told.ship["plan"], bench.bench.source.until
    ship.write_text(ship.read_text().replace("toggle: deck key up", "momentary: deck key up"))
    bench.run(1.0)
    assert bench.told.ship["plan"] != plan
    assert bench.told.state["plan_is_files"]
    assert bench.bench.source.until > until
    assert bench.told.of("rows")[-1]["n"] == len(bench.told.of("rows")) - 1
    bench.put("deck key", "up")
    bench.run(0.3)
    assert bench.state_of("deck lights") == "on"
    bench.put("deck key", "centre")
    bench.run(0.3)
    assert bench.state_of("deck lights") == "off"


def test_broken_file_is_told_as_the_command_line_would_and_the_old_plan_goes_on(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.5)
    good = ship.read_text()
    ship.write_text(good.replace("toggle: deck key up", "toggle: dek key up"))
    bench.run(1.0)
    file = bench.told.state["file"]
    assert file["state"] == "broken"
    [problem] = file["problems"]
    assert "tender.yaml:" in problem
    assert "error[unknown-name]" in problem
    assert "did you mean 'deck key up'?" in problem
    bench.put("deck key", "up")
    bench.run(0.3)
    assert bench.state_of("deck lights") == "on"
    ship.write_text(good)
    bench.run(0.6)
    assert bench.told.state["file"] == {"state": "same", "problems": []}
    assert bench.state_of("deck lights") == "on"  # nothing has been started anew


def test_file_that_an_editor_moves_away_and_puts_back(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.5)
    content = ship.read_bytes()
    ship.unlink()
    bench.run(0.6)
    assert bench.told.state["file"]["state"] == "missing"
    ship.write_bytes(content)
    bench.run(0.6)
    assert bench.told.state["file"]["state"] == "same"


def test_board_runs_an_older_plan_then(ship: Path) -> None:
    bench = Boards(path=ship).bench
    bench.run(1.0)
    plan = bench.told.ship["plan"]
    ship.write_text(ship.read_text().replace("toggle: deck key up", "momentary: deck key up"))
    bench.run(1.0)
    state = bench.told.state
    assert state["file"]["state"] == "newer"
    assert not state["plan_is_files"]
    assert (bench.told.ship["plan"], state["link"]) == (plan, "up")


def test_what_the_ship_does_not_do_otherwise_starts_nothing_anew(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.5)
    bench.put("deck key", "up")
    bench.run(0.3)
    ship.write_text(ship.read_text().replace("draws: 1.2 A", "draws: 1.4 A"))
    bench.run(0.6)
    assert bench.told.ship["supplies"][0]["plain_ma"] > 0
    assert bench.state_of("deck lights") == "on"
    assert not [row for row in bench.told.rows if row.get("up") == "file"]


def test_reads_it_now_when_asked(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.1)
    plan = bench.told.ship["plan"]
    ship.write_text(ship.read_text().replace("toggle: deck key up", "momentary: deck key up"))
    assert bench.ask("reload")["ok"]
    assert bench.told.ship["plan"] != plan


HOSTILE = "&lt;img src=x onerror=alert(1)&gt; ${x}"
"""What a name may hold; a name with < is refused when the file is read."""


def test_hostile_names_travel_as_they_are_and_only_as_json(tmp_path: Path) -> None:
    text = starter("tender").read_text()
    path = tmp_path / "tender.yaml"
    path.write_text(text.replace("deck lights", f'"{HOSTILE}"').replace("trials:", "trial:", 1))
    path.write_text(path.read_text()[: path.read_text().index("\ntrial:")])
    bench = OnBench(path)
    bench.run(0.5)
    assert HOSTILE in [one["name"] for one in bench.told.ship["functions"]]
    bench.put("deck key", "up")
    bench.run(0.4)
    assert f"{HOSTILE} on" in bench.told.log
