"""A short share of every kind of fault on the whole sketch, and faults planted in it that it
must find. The whole campaign is `python -m tests.benchmarks.faults --long`."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.benchmarks.faults.campaign import KINDS, Journal, Task, Total, tasks, tried
from tests.benchmarks.faults.judge import Outcome
from tests.benchmarks.faults.planted import PLANTED, Planted, complaints

if TYPE_CHECKING:
    from pathlib import Path

    from tests.benchmarks.faults.kind import Kind

pytestmark = pytest.mark.firmware

FEW = [kind for kind in KINDS if kind.few]


@pytest.mark.parametrize("kind", FEW, ids=[kind.name for kind in FEW])
def test_every_kind_of_fault_is_survived(kind: Kind) -> None:
    total = Total()
    for task in tasks([kind], seed=1, long_run=False):
        total.add(task, tried(task))
    assert total.complaints == []
    assert total.survived == total.faults > 0


@pytest.mark.parametrize("planted", PLANTED, ids=[one.name for one in PLANTED])
def test_a_planted_fault_is_found(planted: Planted) -> None:
    assert next(complaints(planted), None) is not None


def test_every_kind_finds_something_planted() -> None:
    by_hand = {"frozen values", "dips of the battery", "reset at every tick of a winch's run"}
    by_hand |= {"power cut at every tick of a winch's run"}  # as power cuts at large
    assert {kind.name for kind in FEW} - {one.kind for one in PLANTED} == by_hand


def test_a_campaign_goes_on_where_it_was(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal")
    assert journal.read() == {}
    task = Task("hangs", "own pins", 7, 1)
    outcome = Outcome(
        3, 480_000, ["anchor ran past its limit"], {"hang to safe": 127.5}, {"horn on"}
    )
    journal.note(task, outcome)
    with (tmp_path / "journal").open("a", encoding="utf-8") as file:
        file.write(json.dumps({"task": {}})[:9])  # the power went
    assert journal.read() == {task: outcome}


def test_a_short_share_is_part_of_the_whole() -> None:
    for kind in FEW:
        short, whole = (tasks([kind], 1, long_run=long_run) for long_run in (False, True))
        assert set(short) <= set(whole)
        assert len(whole) == len(set(whole)) == kind.runs * len(kind.scenes)
        assert len(short) == kind.few * len(kind.scenes)
