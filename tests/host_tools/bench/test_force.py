"""The life of a force from a page: armed, held, ended by whatever ends what holds it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.host_tools.bench.benches import OnBench, starter
from tests.host_tools.bench.boards import Boards

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SHIPS: dict[str, Callable[[], OnBench]] = {
    "model": lambda: OnBench(starter("tender")),
    "board": lambda: Boards().bench,
}


@pytest.fixture(params=SHIPS)
def bench(request: pytest.FixtureRequest) -> OnBench:
    made = SHIPS[request.param]()
    made.run(1.0)
    return made


def hold(bench: OnBench, seconds: float) -> None:
    """With the page's signs of life, ten times a second."""
    for _ in range(round(seconds / 0.1)):
        bench.ask("keep")
        bench.run(0.1)


def begin(bench: OnBench, function: str, state: str) -> dict[str, object]:
    index = bench.index("functions", function)
    forces = bench.told.ship["functions"][index]["forces"]
    assert bench.ask("arm", function=index, sure=True)["ok"]
    bench.run(0.2)
    return bench.ask("force", function=index, state=forces.index(state))


def test_armed_held_and_let_go(bench: OnBench) -> None:
    horn = bench.index("functions", "horn")
    assert begin(bench, "horn", "on")["ok"]
    hold(bench, 0.5)
    assert bench.state_of("horn") == "on"
    force = bench.told.state["force"]
    assert (force["function"], force["state"], force["mine"]) == (horn, 1, True)
    assert bench.ask("free")["ok"]
    bench.run(0.4)
    assert bench.state_of("horn") == "off"
    assert bench.told.state["force"] is None
    assert "horn is forced on" in bench.told.log
    assert "the force of horn has ended: let go" in bench.told.log


def test_ends_300_ms_after_the_last_sign_of_life(bench: OnBench) -> None:
    assert begin(bench, "horn", "on")["ok"]
    hold(bench, 0.3)
    bench.run(0.2)
    assert bench.state_of("horn") == "on"
    bench.run(0.4)
    assert bench.state_of("horn") == "off"
    assert bench.told.state["force"] is None


def test_ends_when_its_page_is_gone(bench: OnBench) -> None:
    _, told = bench.more_pages()
    assert begin(bench, "horn", "on")["ok"]
    hold(bench, 0.3)
    bench.bench.leave(bench.page)
    bench.told = told
    bench.run(0.2)
    assert bench.state_of("horn") == "off"
    assert told.state["force"] is None


def test_ends_after_ten_seconds_though_it_is_held(bench: OnBench) -> None:
    assert begin(bench, "horn", "on")["ok"]
    hold(bench, 9.5)
    assert bench.state_of("horn") == "on"
    hold(bench, 1.0)
    assert bench.state_of("horn") == "off"


def test_nothing_is_forced_that_is_not_armed_or_was_armed_too_long_ago(bench: OnBench) -> None:
    horn = bench.index("functions", "horn")
    assert bench.ask("force", function=horn, state=1)["code"] == "not-armed"
    assert bench.ask("arm", function=horn)["ok"]
    bench.run(4.0)
    force = bench.told.state["force"]
    assert (force["function"], force["state"], force["mine"]) == (horn, None, True)
    assert force["left_ticks"] in (200, 400)
    bench.run(1.5)
    assert bench.told.state["force"] is None
    assert bench.ask("force", function=horn, state=1)["code"] == "not-armed"
    other, _ = bench.more_pages()
    assert bench.ask("arm", function=horn)["ok"]
    assert bench.ask("force", page=other, function=horn, state=1)["code"] == "not-armed"


def test_what_moves_is_not_armed_without_a_second_word(bench: OnBench) -> None:
    davit = bench.index("functions", "davit")
    answer = bench.ask("arm", function=davit)
    assert answer["code"] == "sure"
    assert "davit pinches" in answer["why"]
    assert begin(bench, "davit", "lowering")["ok"]
    hold(bench, 0.5)
    assert bench.state_of("davit") == "lowering"


RULE = """
  work lights:
    toggle: deck key down
    only while: deck lights
"""


@pytest.mark.parametrize("kind", ["model", "board"])
def test_rule_refuses_with_its_reason(tmp_path: Path, kind: str) -> None:
    ship = tmp_path / "tender.yaml"
    text = starter("tender").read_text()
    ship.write_text(text.replace("\n  work lights:\n    toggle: deck key down\n", RULE))
    bench = OnBench(ship) if kind == "model" else Boards(path=ship).bench
    bench.run(1.0)
    answer = begin(bench, "work lights", "on")
    assert answer["code"] == "rule"
    assert answer["why"] == "work lights may not be on now: only while deck lights"
    bench.run(0.3)
    assert bench.state_of("work lights") == "off"
    assert bench.told.state["force"] is None


def test_another_page_does_not_take_it_over(bench: OnBench) -> None:
    other, told = bench.more_pages()
    assert begin(bench, "horn", "on")["ok"]
    bell = bench.index("functions", "bell")
    assert bench.ask("arm", page=other, function=bell)["code"] == "not-now"
    bench.run(0.15)
    assert not told.state["force"]["mine"]
    bench.ask("free", page=other)
    assert bench.told.state["force"] is not None


def test_ship_that_gives_no_consent_is_not_forced() -> None:
    bench = OnBench(starter("launch"))
    bench.run(0.5)
    if bench.bench.opened.plan.bench is not None:
        pytest.fail("the launch has a bench now: take another starter")
    assert not bench.told.state["can"]["force"]
    answer = bench.ask("arm", function=0, sure=True)
    assert answer["code"] == "not-now"
    assert "bench:" in answer["why"]
