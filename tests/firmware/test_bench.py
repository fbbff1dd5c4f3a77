"""What the bench may do to a ship and what it may not: the real program in the simulated chip."""

from __future__ import annotations

import random
from contextlib import ExitStack
from functools import cache
from typing import TYPE_CHECKING, Protocol

import numpy as np
import pytest

from gen.behaviours import Toggle
from gen.load import load, load_text
from gen.plan import force_of, forced_by
from gen.render import render
from gen.resources import resource
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import lay_out
from host_tools.model import Model
from host_tools.thumbs import random_trace
from host_tools.trace import Trace
from tests.firmware.link_lines import at, line, tallies_of, ticks_of, together, words_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.firmware.chip import ChipRun

pytestmark = pytest.mark.firmware

CYCLES_A_TICK = 80_000
CYCLES_A_SECOND = 16_000_000
CYCLES_A_BYTE = 1_389  # at 115200 baud
BEGIN_TICKS = 40
NOTHING = np.empty(0, EVENT)


class Starter(Protocol):
    def __call__(self, name: str) -> FirmwareRung: ...


@pytest.fixture(scope="module")
def starter() -> Iterator[Starter]:
    with ExitStack() as stack:

        @cache
        def make(name: str) -> FirmwareRung:
            loaded = load(resource("templates") / "ships" / f"{name}.yaml")
            sketch = render(loaded.plan, loaded.board)
            return stack.enter_context(FirmwareRung.of_sketch(loaded.plan, loaded.board, sketch))

        yield make


def heard(rung: FirmwareRung, lines: Iterable[tuple[int, bytes]]) -> NDArray[np.void]:
    """Lines as bytes; each begins so many ticks after the start."""
    return together(*(at(rung.first_tick + tick * CYCLES_A_TICK, data) for tick, data in lines))


def told(rung: FirmwareRung, words: Sequence[tuple[int, str]]) -> NDArray[np.void]:
    """The same for good lines that follow on."""
    return heard(rung, [(tick, line(n, one)) for n, (tick, one) in enumerate(words)])


def answers(run: ChipRun) -> list[str]:
    return [one for one in words_of(run.said) if one.startswith(("ok", "no"))]


def agrees(rung: FirmwareRung, run: ChipRun) -> None:
    """The model, given what the chip had, drives and remembers the same; the link says so too."""
    plan = rung.plan
    names = tuple(one.name for one in plan.inputs)
    empty = Trace(0, names, np.zeros(0, np.int64), np.zeros((0, len(names)), np.uint16))
    seen = rung.seen(run, empty.with_readings(tuple(s.name for s in plan.sensors), []))
    record = Model(plan).run(seen)
    reports = run.ticks["report"]
    assert record.digests is not None
    assert np.array_equal(record.digests, reports["digest"])
    assert np.array_equal(record.lines, rung.lines(run))
    for one in ticks_of(words_of(run.said)):
        assert one.digest == reports[one.tick]["digest"]
        forced = forced_by(int(reports[one.tick]["force"]))
        if one.force is not None:
            assert one.force == (forced or ())


def forced_ticks(run: ChipRun) -> NDArray[np.int64]:
    return np.flatnonzero(run.ticks["report"]["force"])


def lamp(plan: Plan) -> tuple[int, int]:
    """A toggle, and the line that it drives."""
    return next((i, one.drives) for i, one in enumerate(plan.functions) if isinstance(one, Toggle))


def test_inputs_take_the_receivers_place(starter: Starter) -> None:
    """The pins are driven all the while; after `bench on` only what the host says is seen."""
    rung = starter("tender")
    plan = rung.plan
    last = len(plan.inputs) - 1
    tag = chr(97 + last)
    trace = random_trace(plan, 260, 2).without_forces()
    words = [
        (20, f"p {tag}1500"),
        (BEGIN_TICKS, "bench on"),
        *((60 + 4 * i, f"p a1500.5 {tag}{1000 + 5 * i}") for i in range(30)),
        (190, f"p a1500 {chr(98 + last)}1500"),
        (194, "p a32768"),
        (198, "p a1500.25"),
        (202, "p a1500 a1600 a1700"),
    ]
    events = lay_out(trace, rung.first_tick).events()
    run = rung.run_events(events, trace.ticks, heard=told(rung, words))
    assert answers(run) == [
        "no 00 bench", "ok 01", *(f"ok {2 + i:02X}" for i in range(30)),
        "no 20 range", "no 21 word", "no 22 word", "ok 23",
    ]  # fmt: skip
    reports = run.ticks["report"]
    assert reports["count"][:BEGIN_TICKS].any()
    seen = [
        (int(pulse["input"]), int(pulse["width"]))
        for report in reports[BEGIN_TICKS + 4 :]
        for pulse in report["pulses"][: report["count"]]
    ]
    pairs = [((0, 3001), (last, 2000 + 10 * i)) for i in range(30)]
    assert seen == [*(one for pair in pairs for one in pair), (0, 3000), (0, 3200), (0, 3400)]
    agrees(rung, run)


@pytest.mark.parametrize("gap_cycles", [0, 400, 2_000])
def test_nothing_is_lost_of_a_host_that_never_pauses(starter: Starter, gap_cycles: int) -> None:
    """As fast as the line carries, while the board tells of each pulse that it hears so."""
    rung = starter("tender")
    words = ["bench on", *("p a1500", "p b1500 c1500", "p d1500") * 60]
    begins, lines = rung.first_tick + BEGIN_TICKS * CYCLES_A_TICK, []
    for n, one in enumerate(words):
        data = line(n % 256, one)
        lines.append(at(begins, data))
        begins += len(data) * CYCLES_A_BYTE + gap_cycles
    run = rung.run_events(NOTHING, 420, heard=together(*lines))
    tally = tallies_of(words_of(run.said))[-1]
    assert (tally["bad"], tally["dropped"], tally["late"]) == (0, 0, 0)
    assert int(run.ticks["report"]["count"].sum()) == 60 * 4
    agrees(rung, run)


def test_a_force_is_armed_first_and_ends_at_once_on_silence(starter: Starter) -> None:
    rung = starter("tender")
    function, driven = lamp(rung.plan)
    words = [
        (40, f"force {function} 1"),
        (44, f"arm {len(rung.plan.functions)}"),
        (48, f"arm {function}"),
        (52, f"force {function} 9"),
        (56, f"force {function} 1"),
        *((60 + 20 * i, "here") for i in range(5)),
    ]
    bytes_in = told(rung, words)
    run = rung.run_events(NOTHING, 300, heard=bytes_in)
    assert answers(run) == [
        "no 00 arm", "no 01 range", "ok 02", "no 03 range", *(f"ok {n:02X}" for n in range(4, 10)),
    ]  # fmt: skip
    edges = run.edges[run.edges["output"] == driven]
    level_on = 0 if rung.plan.lines[driven].active_low else 1
    on = edges["cycle"][(edges["level"] == level_on) & (edges["driven"] == 1)]
    off = edges["cycle"][(edges["level"] != level_on) & (edges["cycle"] > on[0])]
    assert len(on) == len(off) == 1
    silent_since = int(bytes_in["cycle"][-1])
    assert 0.28 * CYCLES_A_SECOND < int(off[0]) - silent_since < 0.5 * CYCLES_A_SECOND
    expected = force_of(function, 1)
    assert set(run.ticks["report"]["force"].tolist()) == {0, expected}
    agrees(rung, run)


def test_a_force_ends_by_itself_ten_seconds_after_it_was_armed(starter: Starter) -> None:
    """However alive the host is; and it is armed for five seconds only."""
    rung = starter("tender")
    function, _ = lamp(rung.plan)
    words = [
        (40, f"arm {function}"),
        *((60 + 40 * i, "here") for i in range(25)),
        (1050, f"force {function} 1"),
        (1060, f"arm {function}"),
        (1070, f"force {function} 1"),
        *((1080 + 40 * i, "here") for i in range(56)),
    ]
    run = rung.run_events(NOTHING, 3350, heard=told(rung, sorted(words)))
    assert [one for one in answers(run) if one.startswith("no")] == ["no 1A arm"]
    ticks = forced_ticks(run)
    assert len(ticks) == ticks[-1] - ticks[0] + 1
    assert 1070 < ticks[0] < 1075
    assert 3058 < ticks[-1] < 3064
    agrees(rung, run)


def test_letting_go_and_another_force(starter: Starter) -> None:
    rung = starter("tender")
    words = [
        (40, "arm 0"), (44, "force 0 1"), (60, "force 0 0"), (70, "force 0 1"), (80, "arm 1"),
        (90, "force 1 1"), (100, "force 0 1"), (110, "free"), (120, "force 1 1"),
    ]  # fmt: skip
    run = rung.run_events(NOTHING, 200, heard=told(rung, words))
    assert [one for one in answers(run) if one.startswith("no")] == ["no 06 arm", "no 08 arm"]
    forces = run.ticks["report"]["force"]
    changes = [int(forces[0]), *forces[1:][forces[1:] != forces[:-1]].tolist()]
    assert changes == [0, force_of(0, 1), force_of(0, 0), force_of(0, 1), force_of(1, 1), 0]
    agrees(rung, run)
    shown = [one.force for one in ticks_of(words_of(run.said)) if one.force is not None]
    assert shown[-5:] == [(0, 1), (0, 0), (0, 1), (1, 1), ()]


@pytest.fixture(scope="module")
def ruled() -> Iterator[FirmwareRung]:
    """A tender whose work lights are on only while the deck lights are."""
    path = resource("templates") / "ships" / "tender.yaml"
    text = path.read_text().replace(
        "drives: work relay", "drives: work relay\n    only while: deck lights"
    )
    loaded = load_text(text.encode())
    sketch = render(loaded.plan, loaded.board)
    with FirmwareRung.of_sketch(loaded.plan, loaded.board, sketch) as rung:
        yield rung


def test_a_rule_that_forbids_a_force_ends_it(ruled: FirmwareRung) -> None:
    """A press lights the deck lights; 250 ms after its last pulse their key has lost its signal."""
    names = [one.name for one in ruled.plan.functions]
    work, deck, horn = map(names.index, ("work lights", "deck lights", "horn"))
    widths = [1500] * 5 + [1900] * 5 + [1500] * 5
    words = [
        (40, "bench on"), (44, f"arm {work}"), (48, f"force {work} 1"), (54, f"force {work} 0"),
        *((60 + 4 * i, f"p c{width}") for i, width in enumerate(widths)),  # the last one at 116
        (120, f"arm {work}"), (124, f"force {work} 1"), *((130 + 10 * i, "here") for i in range(7)),
        (200, f"force {work} 1"), (204, f"arm {work}"), (208, f"force {work} 1"),
        (214, f"arm {deck}"), (218, f"force {deck} 1"), (222, f"arm {work}"),
        (226, f"force {work} 1"), (234, f"arm {horn}"), (238, f"force {horn} 1"),
    ]  # fmt: skip
    run = ruled.run_events(NOTHING, 250, heard=told(ruled, words))
    said = [one.split(" ") for one in answers(run)]
    assert len({number for _, number, *_ in said}) == len(words)
    ruled_out = [words[int(number, 16)][0] for _, number, *why in said if why == ["rule"]]
    assert ruled_out == [48, 54, 200, 208, 226]
    on = ruled.lines(run) >> np.uint64(ruled.plan.functions[work].lines[0]) & np.uint64(1)
    lit = np.flatnonzero(on)
    assert 124 <= lit[0] <= 128
    assert 164 <= lit[-1] <= 170
    assert on[lit[0] : lit[-1] + 1].all()
    barred = np.flatnonzero(run.ticks["report"]["force_is_barred"])
    forced = forced_ticks(run)
    assert lit[-1] + 1 in barred
    assert not set(barred + 1) & set(forced)
    agrees(ruled, run)


def test_without_its_jumper_nothing_is_taken(starter: Starter) -> None:
    rung = starter("cutter")
    assert rung.plan.bench is not None
    assert rung.plan.bench.jumper
    words = [
        (40, "bench on"), (50, "arm 0"), (60, "force 0 1"), (70, "p a1500"), (80, "free"),
        (90, "restart"), (100, "here"),
    ]  # fmt: skip
    run = rung.run_events(NOTHING, 200, heard=told(rung, words))
    assert answers(run) == [*(f"no {n:02X} bench" for n in range(6)), "ok 06"]
    assert "who bench off" in words_of(run.said)
    assert not len(forced_ticks(run))
    fitted = rung.run_events(NOTHING, 100, heard=told(rung, words[:3]), jumper=True)
    assert answers(fitted) == ["ok 00", "ok 01", "ok 02"]
    assert "who bench on" in words_of(fitted.said)
    assert len(forced_ticks(fitted))


def test_a_restart_is_asked_for(starter: Starter) -> None:
    """Its outputs are off at once, and its memory is that of a new start."""
    rung = starter("tender")
    function, driven = lamp(rung.plan)
    words = [
        (40, f"arm {function}"), (50, f"force {function} 1"), (60, "bench on"), (70, "restart"),
    ]  # fmt: skip
    bytes_in = told(rung, words)
    run = rung.run_events(NOTHING, 160, heard=bytes_in)
    assert len(run.resets) == 1
    assert run.resets[0] - int(bytes_in["cycle"][-1]) < 0.05 * CYCLES_A_SECOND
    after = run.said[run.said["cycle"] > run.resets[0]]
    told_again = words_of(after)
    assert [one for one in told_again if "reset" in one] == [
        "who reset cause=asked power=1 brown-out=0 watchdog=0 external=0 asked=1"
    ]
    edges = run.edges[(run.edges["output"] == driven) & (run.edges["cycle"] >= run.resets[0])]
    level_on = 0 if rung.plan.lines[driven].active_low else 1
    assert not np.any((edges["level"] == level_on) & (edges["driven"] == 1))


def test_damaged_lines_move_nothing(starter: Starter) -> None:
    """Bits flipped, bytes lost, lines joined: what would arm, force or press does not."""
    rung = starter("tender")
    draw = random.Random(3)
    lines = []
    for n in range(120):
        words = draw.choice(["arm 0", "force 0 1", "bench on", "p a1900 b1900", "restart"])
        data = bytearray(line(n, words))
        for _ in range(draw.randint(1, 3)):
            data[draw.randrange(len(data) - 1)] ^= 1 << draw.randrange(8)
        if draw.random() < 0.3:
            del data[draw.randrange(len(data))]
        lines.append((40 + 4 * n, bytes(data)))
    run = rung.run_events(NOTHING, 560, heard=heard(rung, lines))
    assert run.resets == ()
    assert not [one for one in answers(run) if one.startswith("ok")]
    assert not len(forced_ticks(run))
    assert not run.ticks["report"]["count"].any()
    assert not rung.lines(run).any()


def test_the_last_lines_pulses_are_lost_when_the_host_falls_silent(starter: Starter) -> None:
    """Channels die as when a transmitter is switched off."""
    rung = starter("tender")
    tags = [chr(97 + i) for i in range(len(rung.plan.inputs))]
    pulses = " ".join(f"{tag}1500" for tag in tags[:6])
    words = [(40, "bench on"), *((50 + 4 * i, f"p {pulses}") for i in range(20))]
    run = rung.run_events(NOTHING, 300, heard=told(rung, words))
    agrees(rung, run)
    assert run.ticks["report"]["count"][60:120].any()
    assert not run.ticks["report"]["count"][140:].any()
