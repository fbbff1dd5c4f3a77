"""What the link says and hears, on the real program in the simulated chip."""

from __future__ import annotations

import random
from contextlib import ExitStack
from functools import cache
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pytest

from gen import __version__
from gen.load import load
from gen.render import render
from gen.resources import resource
from host_tools.agree import first_difference
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import lay_out
from host_tools.kept import eeprom_with
from host_tools.model import Model
from host_tools.thumbs import random_trace
from host_tools.trace import Trace
from tests.firmware.link_lines import at, line, tallies_of, ticks_of, together, words_of
from tests.thumb_frames import thumb_frames

if TYPE_CHECKING:
    from collections.abc import Iterator

    from host_tools.firmware.chip import ChipRun
    from host_tools.record import Record

pytestmark = pytest.mark.firmware

STARTERS = ("salvor-nano", "salvor", "cutter", "lightship", "pinnace", "tender")
NOTHING = np.empty(0, EVENT)
CYCLES_A_TICK = 80_000
MOST_LOAD_CYCLES = 8_000
LINE_BYTES_A_SECOND = 11_764


class Starter(Protocol):
    def __call__(self, name: str, edit: tuple[str, str, str] | None = None) -> FirmwareRung: ...


@pytest.fixture(scope="module")
def starter() -> Iterator[Starter]:
    with ExitStack() as stack:

        @cache
        def make(name: str, edit: tuple[str, str, str] | None = None) -> FirmwareRung:
            loaded = load(resource("templates") / "ships" / f"{name}.yaml")
            sketch = dict(render(loaded.plan, loaded.board))
            if edit is not None:
                file, old, new = edit
                assert old in sketch[file]
                sketch[file] = sketch[file].replace(old, new)
            rung = FirmwareRung.of_sketch(loaded.plan, loaded.board, sketch)
            return stack.enter_context(rung)

        yield make


def check_told(record: Record, run: ChipRun) -> int:
    """Everything that was told is what happened in that tick; how many ticks were told."""
    reports = run.ticks["report"]
    told = ticks_of(words_of(run.said))
    for one in told:
        report = reports[one.tick]
        seen = report["pulses"][: report["count"]]
        assert one.pulses == [(int(p["input"]), int(p["width"])) for p in seen]
        assert one.digest == report["digest"]
        assert one.lines in (None, int(record.lines[one.tick]))
        assert one.servos == {i: record.servos_half_us[one.tick, i] for i in one.servos}
        assert one.levels == {i: record.levels[one.tick, i] for i in one.levels}
        assert one.readings == {i: report["readings"][i] for i in one.readings}
    assert [one.tick for one in told] == sorted({one.tick for one in told})
    return len(told)


@pytest.mark.parametrize("name", STARTERS)
def test_what_is_told_is_what_happened(name: str, starter: Starter) -> None:
    """Of every tick with a pulse or with a line that changed; what holds at the end was told."""
    rung = starter(name)
    record, run = rung.observe(random_trace(rung.plan, 600, 4).without_forces())
    assert check_told(record, run) > 100
    words = words_of(run.said)
    if any(tally["dropped"] for tally in tallies_of(words)):
        assert name.startswith("salvor")  # whose random pulses are more than the line carries
        return
    told = {one.tick: one for one in ticks_of(words)}
    last = max(told)
    pulsed = np.flatnonzero(run.ticks["report"]["count"][:last])
    changed = 1 + np.flatnonzero(np.diff(record.lines[:last].astype(np.int64)))
    assert set(pulsed.tolist()) | set(changed.tolist()) | {0} <= set(told)
    for tick in changed.tolist():
        assert told[tick].lines is not None
    for index in range(len(rung.plan.servos)):
        latest = [one.servos[index] for one in told.values() if index in one.servos][-1]
        assert latest in record.servos_half_us[last - 4 : last + 1, index]


def test_a_board_says_who_it_is(starter: Starter) -> None:
    rung = starter("salvor-nano")
    words = words_of(rung.run_events(NOTHING, 60).said)
    plan, built = rung.plan, rung.built
    assert built is not None
    assert [one for one in words if one.startswith("who ")] == [
        f"who ship {plan.ship}",
        f"who plan {plan.plan_id}",
        "who board nano",
        f"who maker {__version__}",
        f"who size flash={built.flash_bytes} ram={built.ram_bytes}",
        "who reset cause=power power=1 brown-out=0 watchdog=0 external=0 asked=0",
        *(f"who input {chr(97 + i)} {one.pin}" for i, one in enumerate(plan.inputs)),
        "who bench none",
        "who end",
    ]


def test_what_was_found_at_power_up_is_told(starter: Starter) -> None:
    rung = starter("salvor")
    size = rung.plan.kept_bytes
    assert size
    kept = bytes(range(0x2A, 0x2A + size))
    found = words_of(rung.run_events(NOTHING, 60, eeprom_with(rung.plan, rung.board, kept)).said)
    assert f"who kept {kept.hex().upper()}" in found
    assert "who end" in found
    nothing = words_of(rung.run_events(NOTHING, 60).said)
    assert "who kept" in nothing
    assert "who end" in nothing


def test_nothing_is_lost_at_full_load(starter: Starter) -> None:
    """Nine channels at 50 frames a second, 24 functions, five servos that move all the time."""
    rung = starter("salvor-nano")
    record, run = rung.observe(thumb_frames(rung.plan, 500, 2))
    check_told(record, run)
    words = words_of(run.said)
    tally = tallies_of(words)[-1]
    assert (tally["lost"], tally["dropped"], tally["late"], tally["bad"]) == (0, 0, 0, 0)
    assert tally["tick"] > 1900
    loads = (run.ticks["done"] - run.ticks["sampled"]).astype(np.int64)
    assert loads.max() < MOST_LOAD_CYCLES
    # It counts from when the tick was due: up to 60 us before, for a step of the link and edges.
    assert 0 <= 2 * tally["longest"] * 8 - loads.max() < 960
    told = {one.tick for one in ticks_of(words)}
    pulsed = set(np.flatnonzero(run.ticks["report"]["count"]).tolist())
    assert {tick for tick in pulsed if tick < max(told)} <= told


def test_what_the_line_cannot_carry_is_dropped_whole_and_counted(starter: Starter) -> None:
    """A pulse on every input in every tick is twice what the line carries; then calm."""
    rung = starter("salvor-nano")
    plan = rung.plan
    ticks, calm = 600, 200
    widths = np.tile(2801 + 3 * np.arange(len(plan.inputs)), (ticks, 1)).astype(np.uint16)
    names = tuple(one.name for one in plan.inputs)
    trace = Trace(ticks + calm, names, np.arange(ticks), widths)
    run = rung.run_events(lay_out(trace, rung.first_tick).events(), ticks + calm)
    assert run.resets == ()
    words = words_of(run.said)
    told = ticks_of(words)
    tally = tallies_of(words)[-1]
    assert tally["dropped"] > 100
    assert tally["late"] == 0
    missing = set(range(ticks - 10)) - {one.tick for one in told}
    assert 0 <= tally["dropped"] - len(missing) < 20
    reports = run.ticks["report"]
    for one in told:
        seen = reports[one.tick]["pulses"][: reports[one.tick]["count"]]
        assert one.pulses == [(int(p["input"]), int(p["width"])) for p in seen]
        assert one.digest == reports[one.tick]["digest"]
    after = [one for one in told if one.tick > ticks - 20]
    assert any(one.lines is not None for one in after)
    busy = len(run.said) / (len(run.ticks) - calm) * 200
    assert 0.85 * LINE_BYTES_A_SECOND < busy


def test_a_host_that_floods_the_line_changes_nothing(starter: Starter) -> None:
    """Bytes without a break: no tick is late, nothing is obeyed, the stack keeps its bound."""
    rung = starter("salvor-nano")
    trace = thumb_frames(rung.plan, 200, 3)
    draw = random.Random(5)
    noise = bytes(draw.choice(b"0123456789ABCDEF who here\r\n\xff\x00") for _ in range(46_000))
    record, run = rung.observe(trace, at(rung.first_tick, noise))
    assert first_difference(Model(rung.plan).run(record.trace), record) is None
    check_told(record, run)
    words = words_of(run.said)
    assert not [one for one in words if one.startswith(("ok", "no"))]
    tally = tallies_of(words)[-1]
    assert tally["bad"] > 100
    assert (tally["dropped"], tally["late"], tally["lost"]) == (0, 0, 0)
    loads = (run.ticks["done"] - run.ticks["sampled"]).astype(np.int64)
    assert loads.max() < MOST_LOAD_CYCLES
    assert rung.built is not None
    assert run.stack_bytes <= rung.built.stack_bytes


def conversation(rung: FirmwareRung, *lines: bytes, ticks: int = 300) -> list[str]:
    """What the board says to these lines, one every 20 ms."""
    begin = rung.first_tick + 40 * CYCLES_A_TICK
    heard = together(*(at(begin + 4 * i * CYCLES_A_TICK, one) for i, one in enumerate(lines)))
    return words_of(rung.run_events(NOTHING, ticks, heard=heard).said)


def answers(words: list[str]) -> list[str]:
    return [one for one in words if one.startswith(("ok", "no"))]


def test_questions_are_answered(starter: Starter) -> None:
    rung = starter("salvor-nano")
    words = conversation(
        rung,
        line(0x41, "here"),
        line(0x42, "who"),
        line(0x43, "hers"),
        line(0x44, "who are you"),
        line(0x45, "here").replace(b"\n", b"\r\n"),
        b"\n",
        line(0x47, "here"),
        line(0x48, "here"),
        line(0x48, "here"),
        line(0x49, "bench on"),
        line(0x4A, "here"),
    )
    assert answers(words) == [
        "ok 41", "ok 42", "no 43 word", "no 44 word", "ok 45", "no 47 order", "ok 48",
        "no 48 order", "no 49 word", "ok 4A",
    ]  # fmt: skip
    assert words.count("who end") == 2
    assert tallies_of(words)[-1]["bad"] == 2


def test_a_number_wraps(starter: Starter) -> None:
    words = conversation(starter("salvor-nano"), *(line(n, "here") for n in (254, 255, 256, 257)))
    assert answers(words) == ["ok FE", "ok FF", "ok 00", "ok 01"]


def damaged(draw: random.Random, good: bytes) -> bytes:
    """1 to 3 flipped bits, a cut, a byte too many; never the line as it was."""
    while True:
        data = bytearray(good)
        kind = draw.randrange(3)
        if kind == 0:
            for _ in range(draw.randint(1, 3)):
                data[draw.randrange(len(data) - 1)] ^= 1 << draw.randrange(8)
        elif kind == 1:
            del data[draw.randrange(len(data) - 1)]
        else:
            data.insert(draw.randrange(len(data)), draw.randrange(256))
        if bytes(data) != good and b"\r\n" not in bytes(data):
            return bytes(data)


def test_damaged_lines_are_never_obeyed(starter: Starter) -> None:
    """And the line behind each is heard again, after one whose number shows the gap."""
    rung = starter("salvor-nano")
    draw = random.Random(11)
    lines: list[bytes] = []
    for n in range(0, 180, 3):
        lines += [damaged(draw, line(n, "who")), line(n + 1, "here"), line(n + 2, "here")]
    words = conversation(rung, *lines, ticks=900)
    assert words.count("who end") == 1  # at start-up
    heard = {one.split()[1]: one.split()[0] for one in answers(words)}
    assert [heard.get(f"{n + 2:02X}") for n in range(0, 180, 3)] == ["ok"] * 60
    assert heard["01"] == "ok"  # the first line of all may have any number
    assert [heard[f"{n + 1:02X}"] for n in range(3, 180, 3)] == ["no"] * 59


def test_too_long_a_line_is_dropped_to_its_end(starter: Starter) -> None:
    longest = line(1, "x" * (63 - 8))
    assert len(longest) == 64
    words = conversation(
        starter("salvor-nano"), longest, line(2, "x" * 56), line(3, "here"), line(4, "here")
    )
    assert answers(words) == ["no 01 word", "no 03 order", "ok 04"]


def test_a_reset_by_the_watchdog_is_told(starter: Starter) -> None:
    hang = "if (report.tick == 60) { for (;;) {} }\n  board::tick_done();"
    rung = starter("salvor-nano", ("anna_torvald_nano.ino", "board::tick_done();", hang))
    run = rung.run_events(NOTHING, 130)
    assert len(run.resets) == 1
    said = run.said
    before = said[said["cycle"] < run.resets[0]]
    after = said[said["cycle"] > run.resets[0]]
    whole = [words_of(part) for part in (before, after)]
    told = [[one for one in words if "reset" in one] for words in whole]
    assert told == [
        ["who reset cause=power power=1 brown-out=0 watchdog=0 external=0 asked=0"],
        ["who reset cause=watchdog power=1 brown-out=0 watchdog=1 external=0 asked=0"],
    ]


def test_a_chip_goes_on_step_by_step(starter: Starter) -> None:
    """As a whole run does, byte for byte and cycle for cycle."""
    rung = starter("salvor-nano")
    trace = thumb_frames(rung.plan, 50, 6)
    events = lay_out(trace, rung.first_tick).events()
    heard = at(rung.first_tick + 30 * CYCLES_A_TICK, line(7, "here"))
    whole = rung.run_events(events, trace.ticks, heard=heard)
    said = []
    with rung.power_up() as chip:
        for step in range(1, 40):
            begin, end = (step - 1) * 500_000, step * 500_000
            new = (events["cycle"] >= begin) & (events["cycle"] < end)
            coming = (heard["cycle"] >= begin) & (heard["cycle"] < end)
            answer = chip.run(end, heard[coming], events[new])
            assert 0 <= answer.cycle - end < 1_000
            said.append(answer.said)
    steps = np.concatenate(said)
    count = min(len(steps), len(whole.said))
    assert count > 500
    assert steps[:count].tobytes() == whole.said[:count].tobytes()
