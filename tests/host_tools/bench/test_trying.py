"""A trial that is run while one watches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.host_tools.bench.benches import OnBench, starter
from tests.host_tools.bench.boards import Boards

if TYPE_CHECKING:
    from pathlib import Path

TRIALS = """
trials:
  lights latch:
    - press deck key up for 0.3 s
    - expect deck lights on
    - press deck key up for 0.3 s
    - expect deck lights off
  a wrong one:
    - press deck key up for 0.3 s
    - expect deck lights off
  kept over a cut:
    - press button row one for 0.3 s
    - expect navigation lights on
    - cut power
    - expect navigation lights on within 1 s
"""


@pytest.fixture
def ship(tmp_path: Path) -> Path:
    text = starter("tender").read_text()
    text = text.replace(
        "    on loss: keep\n    load", "    on loss: keep\n    remember: yes\n    load", 1
    )
    path = tmp_path / "tender.yaml"
    path.write_text(text[: text.index("\ntrials:")] + TRIALS)
    return path


def run_trial(bench: OnBench, name: str, seconds: float) -> dict[str, Any]:
    answer = bench.ask("trial", name=name, sure=True)
    assert answer["ok"], answer
    bench.run(seconds)
    state: dict[str, Any] = bench.told.state["trial"]
    return state


@pytest.mark.parametrize("kind", ["model", "pins", "board"])
def test_trial_passes_or_falls_short_on_every_ship(ship: Path, kind: str) -> None:
    on_pins = kind == "pins"
    boards = None if kind == "model" else Boards(path=ship, radio=on_pins, receiver=False)
    bench = boards.bench if boards is not None else OnBench(ship)
    bench.run(0.5)
    first = run_trial(bench, "lights latch", 5.0)
    assert (first["over"], first["passed"], first["failures"]) == (True, True, [])
    assert "press deck key up for 0.3 s" in bench.told.log
    assert "trial 'lights latch' passed" in bench.told.log
    second = run_trial(bench, "a wrong one", 4.0)
    assert (second["over"], second["passed"]) == (True, False)
    [failure] = second["failures"]
    assert "tender.yaml:" in failure
    assert "expected: deck lights off" in failure


def test_trial_that_cuts_the_power(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.2)
    state = run_trial(bench, "kept over a cut", 4.0)
    assert state["passed"], state
    board = Boards(path=ship).bench
    board.run(0.5)
    answer = board.ask("trial", name="kept over a cut", sure=True)
    assert answer["code"] == "not-now"
    assert "cuts the power" in answer["why"]


def test_board_is_not_moved_without_a_second_word(ship: Path) -> None:
    bench = Boards(path=ship).bench
    bench.run(0.5)
    answer = bench.ask("trial", name="lights latch")
    assert answer["code"] == "sure"
    assert "davit" in answer["why"]


def test_trial_can_be_stopped(ship: Path) -> None:
    bench = OnBench(ship)
    bench.run(0.2)
    assert bench.ask("trial", name="lights latch")["ok"]
    bench.run(0.3)
    assert not bench.told.state["trial"]["over"]
    assert bench.ask("stop")["ok"]
    bench.run(0.2)
    state = bench.told.state["trial"]
    assert (state["over"], state["passed"]) == (True, None)
    bench.put("deck key", "up")
    bench.run(0.3)
    assert bench.state_of("deck lights") == "on"  # the page's hand works again


def test_receiver_that_is_still_heard_spoils_a_trial(ship: Path) -> None:
    bench = Boards(path=ship).bench
    bench.run(0.5)
    state = run_trial(bench, "lights latch", 5.0)
    assert not state["passed"]
    assert "nothing can be said" in state["failures"][0]


def test_no_such_trial(ship: Path) -> None:
    assert OnBench(ship).ask("trial", name="no such")["code"] == "bad"
