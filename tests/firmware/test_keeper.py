"""What outlives the power, on the simulated chip: cut at every stage of a record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.boards import load_board
from gen.load import load_text
from gen.plan import force_of
from gen.render import render
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareRung
from host_tools.kept import recalled
from host_tools.logic import LogicRung
from host_tools.model import Model
from host_tools.transmitter import Transmitter
from tests.gen.small import changed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.trace import Trace

pytestmark = pytest.mark.firmware

NANO = load_board("nano")
KEY = 0
DOWN, CENTRE, UP = range(3)
REMEMBERING = (
    "lamp: {pulse: key up, for: 2 s, drives: relay}",
    "lamp: {toggle: key up, drives: relay, remember: yes}",
)
KEEPING = ("    drives: winch motor\n", "    drives: winch motor\n    unknown: lower only\n")


@pytest.fixture(scope="module")
def rung() -> Iterator[FirmwareRung]:
    plan = load_text(changed(REMEMBERING, KEEPING).encode(), "small.yaml").plan
    with FirmwareRung.of_sketch(plan, NANO, render(plan, NANO)) as opened:
        yield opened


def presses(plan: Plan, count: int) -> Trace:
    thumb = Transmitter(plan)
    thumb.run(300)
    for _ in range(count):
        thumb.put(KEY, UP)
        thumb.run(20)
        thumb.put(KEY, CENTRE)
        thumb.run(20)
    return thumb.trace("presses")


def test_all_rungs_keep_and_find_the_same(rung: FirmwareRung) -> None:
    plan = rung.plan
    thumb = Transmitter(plan)
    thumb.run(100)
    for position, ticks in ((UP, 20), (CENTRE, 20), (DOWN, 1700), (CENTRE, 400), (UP, 90)):
        thumb.put(KEY, position)
        thumb.run(ticks)
    thumb.put(KEY, CENTRE)
    thumb.run(500)
    trace = thumb.trace("there and back")
    with LogicRung(plan, render(plan, NANO)) as logic:
        rungs = (Model(plan), logic, rung)
        first = {one.run(trace).kept for one in rungs}
        assert len(first) == 1
        (kept,) = first
        assert kept[-1] == 0  # the lamp was pressed twice
        assert (
            0 < int.from_bytes(kept[:4], "little") < 1600 * 1800
        )  # and the davit hangs in between
        again = [one.run(replace(trace, kept=kept)) for one in rungs]
    for record in again:
        assert first_difference(Model(plan).run(record.trace), record) is None
        assert record.kept == again[0].kept


def test_nothing_comes_back_because_of_a_force() -> None:
    """What is forced when the power goes is kept as off; where a winch stands is kept as it is."""
    bench = ("board: nano\n", "board: nano\nbench: yes\n")
    plan = load_text(changed(REMEMBERING, KEEPING, bench).encode(), "small.yaml").plan
    lamp = next(i for i, one in enumerate(plan.functions) if one.name == "lamp")
    thumb = Transmitter(plan)
    thumb.run(100)
    thumb.put(KEY, DOWN)
    thumb.run(1700)
    thumb.put(KEY, CENTRE)
    thumb.run(100)
    alone = thumb.trace("let down")
    forced = alone.with_readings(plan.readings, [(alone.ticks - 9, 0, force_of(lamp, 1))])
    with LogicRung(plan, render(plan, NANO)) as logic:
        for rung in (Model(plan), logic):
            record = rung.run(forced)
            assert record.lines[-1] >> np.uint64(plan.functions[lamp].lines[0]) & np.uint64(1)
            assert record.kept == rung.run(alone).kept
            assert record.kept[:4] != b"\xff\xff\xff\xff"
            assert record.kept[4] == 0


def test_a_cut_leaves_what_was_or_what_is(rung: FirmwareRung) -> None:
    trace = presses(rung.plan, 1)
    seen = []
    for ticks in range(304, 325):
        record = rung.run(trace.part(0, ticks, b""))
        assert record.kept[:4] == b"\xff\xff\xff\xff"
        seen.append(record.kept[4])
    assert sorted(seen) == seen
    assert set(seen) == {0, 1}


def test_a_cut_while_a_jogged_winch_runs_leaves_its_place_unknown(rung: FirmwareRung) -> None:
    """However often it was started and stopped before: what is on record must never be a place that
    the load has left."""
    thumb = Transmitter(rung.plan)
    thumb.run(300)
    thumb.put(KEY, DOWN)
    thumb.run(1700)  # down to its end, so that its place is known
    cuts = []
    for _ in range(8):
        thumb.put(KEY, CENTRE)
        thumb.run(100)
        thumb.put(KEY, UP)
        thumb.run(50)
        cuts.append(thumb.trace("jogged").ticks)
    trace = thumb.trace("jogged")
    runs = rung.run(trace).lines >> np.uint64(rung.plan.pairs[0].second) & np.uint64(1)
    for cut in cuts:
        assert runs[cut - 30 : cut].all()
        assert rung.run(trace.part(0, cut, b"")).kept[:4] == b"\xff\xff\xff\xff"


def test_many_changes_wear_no_more_than_a_record_a_second(rung: FirmwareRung) -> None:
    trace = presses(rung.plan, 40)
    _, run = rung.observe(trace)
    size = rung.plan.kept_record_bytes
    numbers = [
        int.from_bytes(run.eeprom[at + size - 4 : at + size - 2], "little")
        for at in range(0, NANO.eeprom_bytes - size, size)
    ]
    begun = [number for number in numbers if number != 0xFFFF]
    seconds = trace.ticks // 200
    assert max(begun) == len(begun)
    assert seconds - 2 <= len(begun) <= seconds + 3
    assert recalled(rung.plan, NANO, run.eeprom)
