"""What must be so after every fault, told from the pins and from what the chip itself saw.

A run falls into lives, each from a reset to the next. In every life the model, given what the chip
saw in it and what it found kept, must drive the same and remember the same in every tick. The rest
is told by the pins alone, without the model: both ways of a motor, its longest run and its pause,
functions that exclude each other, and that nothing is on before a life's first tick.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Auto, Winch
from gen.behaviours.base import Loss
from host_tools.agree import first_difference
from host_tools.kept import recalled
from host_tools.model import Model
from host_tools.model.stepwise import Stepwise
from host_tools.record import Record
from tests.benchmarks.faults.ships import RECEIVERS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from host_tools.firmware.chip import ChipRun
    from host_tools.trace import Trace
    from tests.benchmarks.faults.scene import Scene

CYCLES_A_MS = 16_000
CYCLES_A_TICK = 80_000

SLACK_MS = 0.6
"""A tick may be late by so much: what fills the ring of edges is worked out first."""

LATE_MS = 1.25
"""A tick is late by no more than this, whatever comes over the pins (test_odd_pulses.py)."""

RECORD_TICKS = 17
"""So long at most until a winch's start is on record: begun in that tick, then a tick for each of
the record's 14 bytes, one more as a cell may still be being written, and the last cell's own."""

LOSS, HANG, POWER, SWITCH, SILENT, PLACE = (
    "loss of signal to safe",
    "hang to safe",
    "power-up or reset to safe",
    "end switch to stop",
    "host silent to force ended",
    "place on record behind the winch",
)


@dataclass
class Outcome:
    """What came of one run: how many faults it had, how long it was, what was wrong, the worst
    times (ms), and which phases the faults met."""

    faults: int = 0
    cycles: int = 0
    complaints: list[str] = field(default_factory=list)
    worst_ms: dict[str, float] = field(default_factory=dict)
    met: set[str] = field(default_factory=set)

    def took(self, what: str, cycles: float) -> None:
        """One more time that something took."""
        self.worst_ms[what] = max(self.worst_ms.get(what, 0.0), float(cycles) / CYCLES_A_MS)

    def complain(self, text: str) -> None:
        self.complaints.append(text)


@dataclass(frozen=True)
class Life:
    """From a reset (cycle `begin`) to the next (`end`): its ticks, and the EEPROM that it found."""

    begin: int
    end: int
    run: ChipRun
    eeprom: bytes


def lives(run: ChipRun, eeprom: bytes) -> list[Life]:
    """All of a run."""
    begins = [0, *run.resets]
    ends = [*run.resets, run.cycles + 1]
    found = [eeprom, *run.cells]
    done = run.ticks["done"]
    return [
        Life(begin, end, replace(run, ticks=run.ticks[(done >= begin) & (done < end)]), image)
        for begin, end, image in zip(begins, ends, found, strict=True)
    ]


def seen_in(scene: Scene, life: Life) -> Trace:
    """What the chip saw in a life, for a model that finds what it found."""
    kept = recalled(scene.plan, scene.board, life.eeprom)
    return replace(scene.rung.seen(life.run, scene.nothing), kept=kept)


def judge(
    scene: Scene, run: ChipRun, outcome: Outcome, eeprom: bytes = b"", *, hang_ms: float = 0
) -> list[Life]:
    """Everything that must be so whatever the fault was. A board that hangs can stop a motor no
    sooner than its watchdog resets it: that is `hang_ms`."""
    every = lives(run, eeprom)
    outcome.cycles += run.cycles
    if run.ended == "crash":
        outcome.complain("the chip crashed")
    built = scene.rung.built
    if built is not None and run.stack_bytes > built.stack_bytes:
        outcome.complain(f"the stack took {run.stack_bytes} bytes, more than {built.stack_bytes}")
    for life in every:
        _agrees(scene, life, outcome)
        _keeps_time(life, outcome)
        _is_safe_at_first(scene, run, life, outcome)
    _motors(scene, run, outcome, hang_ms)
    if scene.receiver in RECEIVERS:
        _excluded(scene, run, outcome)
    return every


def _agrees(scene: Scene, life: Life, outcome: Outcome) -> None:
    if not len(life.run.ticks):
        return
    plan = scene.plan
    reports = life.run.ticks["report"]
    seen = seen_in(scene, life)
    chip = Record(
        seen,
        scene.rung.lines(life.run),
        np.ascontiguousarray(reports["servos"][:, : len(plan.servos)]),
        np.ascontiguousarray(reports["levels"][:, : len(plan.lights)]),
        reports["digest"].copy(),
    )
    apart = first_difference(Model(plan).run(seen), chip)
    if apart is not None:
        outcome.complain(
            f"life from cycle {life.begin}, tick {apart.tick}: {apart.what}: "
            f"model {apart.model}, chip {apart.rung}"
        )


def _keeps_time(life: Life, outcome: Outcome) -> None:
    sampled = life.run.ticks["sampled"].astype(np.int64)
    if not len(sampled):
        return
    late = sampled - sampled[0] - CYCLES_A_TICK * np.arange(len(sampled))
    if late.max() > LATE_MS * CYCLES_A_MS or late.min() < -LATE_MS * CYCLES_A_MS:
        outcome.complain(f"a tick came {np.abs(late).max() / CYCLES_A_MS:.2f} ms off its time")


def is_on(scene: Scene, run: ChipRun, line: int) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """When a line's pin changed, and whether it was on from then on; of changes in one cycle the
    last one."""
    edges = run.edges[run.edges["output"] == line]
    level = 0 if scene.plan.lines[line].active_low else 1
    on = (edges["driven"] == 1) & (edges["level"] == level)
    cycles = edges["cycle"].astype(np.int64)
    last = np.append(cycles[1:] != cycles[:-1], True)[: len(cycles)]
    return cycles[last], on[last]


def spells(scene: Scene, run: ChipRun, line: int) -> list[tuple[int, int]]:
    """From when to when (cycles) a line was on."""
    cycles, on = is_on(scene, run, line)
    found: list[tuple[int, int]] = []
    since: int | None = None
    for cycle, now in zip(cycles.tolist(), on.tolist(), strict=True):
        if now and since is None:
            since = cycle
        elif not now and since is not None:
            found.append((since, cycle))
            since = None
    return found if since is None else [*found, (since, run.cycles)]


def _is_safe_at_first(scene: Scene, run: ChipRun, life: Life, outcome: Outcome) -> None:
    """Nothing is on before the first tick has driven it, and all pins are driven soon."""
    ticks = life.run.ticks
    # Of a tick that a reset cut short it is not known when it began.
    first = int(ticks["sampled"][0]) if len(ticks) else life.begin
    latest = life.begin
    for line in range(len(scene.plan.lines)):
        edges = run.edges[run.edges["output"] == line]
        mine = edges[(edges["cycle"] >= life.begin) & (edges["cycle"] < life.end)]
        driven = mine["cycle"][mine["driven"] == 1]
        if len(driven) and scene.plan.lines[line].shifted is None:  # a register is blanked
            latest = max(latest, int(driven[0]))
        for begin, end in spells(scene, run, line):
            if life.begin <= begin < first:
                outcome.complain(f"{scene.plan.lines[line].name} is on before the first tick")
            elif begin < life.begin < end:
                outcome.complain(f"{scene.plan.lines[line].name} stays on over a reset")
    if len(ticks):
        outcome.took(POWER, latest - life.begin)


def _motors(scene: Scene, run: ChipRun, outcome: Outcome, hang_ms: float) -> None:
    plan = scene.plan
    for function in plan.functions:
        if not isinstance(function, Winch):
            continue
        ways = [spells(scene, run, line) for line in function.pair_lines]
        limits = (function.first_limit_ticks, function.second_limit_ticks)
        pause = function.pause_ticks * CYCLES_A_TICK - SLACK_MS * CYCLES_A_MS
        for mine, limit, others in zip(ways, limits, reversed(ways), strict=True):
            most = limit * CYCLES_A_TICK + (SLACK_MS + hang_ms) * CYCLES_A_MS
            if any(end - begin > most for begin, end in mine):
                outcome.complain(f"{function.name} ran past its limit")
            for begin, end in mine:
                for other_begin, other_end in others:
                    if other_begin < end and begin < other_end:
                        outcome.complain(f"{function.name} was driven both ways")
                    elif 0 <= other_begin - end < pause:
                        outcome.complain(f"{function.name} turned round without a pause")


def _excluded(scene: Scene, run: ChipRun, outcome: Outcome) -> None:
    """What excludes each other, or needs the other, in each tick, by the pins."""
    lines = scene.rung.lines(run)

    def on(name: str) -> NDArray[np.bool_]:
        function = scene.plan.functions[scene.function(name)]
        mask = sum(1 << line for line in function.lines)
        return np.asarray((lines & np.uint64(mask)) != 0)

    if np.any(on("hoist") & on("davit")):
        outcome.complain("hoist and davit run together")
    if np.any(on("anchor light") & on("navigation lights")):
        outcome.complain("anchor light and navigation lights are on together")
    if np.any(on("radar") & ~on("navigation lights")):
        outcome.complain("the radar is on without navigation lights")


def lines_off_when_lost(scene: Scene) -> list[int]:
    """The lines of all functions that a loss of the whole signal switches off."""
    return [
        line
        for function in scene.plan.functions
        if function.on_loss is Loss.OFF and function.controls and not isinstance(function, Auto)
        for line in function.lines
    ]


def phases(scene: Scene, life: Life, ticks: Iterator[int]) -> set[str]:
    """In which state each function was when a fault came in these ticks of a life, and of a winch
    how far its run had got."""
    wanted = set(ticks)
    ship = Stepwise(scene.plan, recalled(scene.plan, scene.board, life.eeprom))
    met: set[str] = set()
    if not wanted or not len(life.run.ticks):
        return met
    runs = dict.fromkeys(range(len(scene.plan.functions)), 0)
    for tick, (pulses, felt) in enumerate(seen_in(scene, life).tick_by_tick()):
        ship.tick(pulses, felt)
        for index, function in enumerate(scene.plan.functions):
            state = ship.state(index)
            runs[index] = runs[index] + 1 if state else 0
            if tick in wanted:
                met.add(f"{function.name} {function.states[state]}")
                if isinstance(function, Winch) and state:
                    met.add(f"run {function.name} {function.states[state]} {runs[index]}")
    return met


@dataclass(frozen=True)
class Kept:
    """What the model would keep at the end of a tick and, of each winch that keeps its place, what
    is left of its first way (-1: it does not know) and whether it runs."""

    bytes: bytes
    rooms: dict[int, int]
    runs: dict[int, bool]


def kept_by_tick(scene: Scene, life: Life) -> list[Kept]:
    """Of all ticks of a life, and before them of its beginning."""
    ship = Stepwise(scene.plan, recalled(scene.plan, scene.board, life.eeprom))
    kept = [_kept(ship)]
    for pulses, felt in seen_in(scene, life).tick_by_tick():
        ship.tick(pulses, felt)
        kept.append(_kept(ship))
    return kept


def _kept(ship: Stepwise) -> Kept:
    rooms, runs = {}, {}
    for index, function in enumerate(ship.plan.functions):
        if isinstance(function, Winch) and function.unknown is not None:
            first, second = ship.rooms(index)
            whole = function.first_limit_ticks * function.second_limit_ticks
            rooms[index] = first if first + second == whole else -1
            runs[index] = ship.state(index) != 0
    return Kept(ship.kept, rooms, runs)
