"""Resets, hangs and power cuts: at every tick of a winch's run, and while something is kept."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from gen.behaviours import Winch
from host_tools.firmware.chip import BROWN_OUT, EXTERNAL, HANG, POWER, RESET, TORN
from host_tools.kept import places, recalled, record
from host_tools.model.behaviours.winch import NOBODY_KNOWS
from tests.benchmarks.faults import judge as judging
from tests.benchmarks.faults.judge import (
    CYCLES_A_MS,
    CYCLES_A_TICK,
    RECORD_TICKS,
    Outcome,
    judge,
    kept_by_tick,
    phases,
)
from tests.benchmarks.faults.kind import Kind, drawn
from tests.benchmarks.faults.scene import BEGIN_TICKS, TICKS, Move
from tests.benchmarks.faults.signal_lost import SCENES, strikes
from tests.firmware.link_lines import words_of

if TYPE_CHECKING:
    import random

    from host_tools.firmware.chip import ChipRun
    from host_tools.trace import Trace
    from tests.benchmarks.faults.judge import Kept, Life
    from tests.benchmarks.faults.scene import Scene

SPACED_TICKS = 150
"""A hang ends 26 ticks later, and a winch wants its key at rest before it runs again."""

MOST_HANG_MS = 145
"""The watchdog's 120 ms are 125 on the average (ATmega328P datasheet, "Watchdog Timer
Characteristics": typical values), 128 in the simulator."""

KEYS_OF_WINCHES = ("anchor key", "hoist key")
TURN_TICKS, HELD_TICKS = 400, 230
FIRST_ANSWER_TICKS = 4
"""No press is seen sooner; from then on each tick of a run of up to 1 s has its turn."""
IN_A_RUN = 215

WITH_INTERRUPTS, WITHOUT_INTERRUPTS = 0, 1

CAUSES = {EXTERNAL: "external", BROWN_OUT: "brown-out", POWER: "power"}


def resets(scene: Scene, number: int, seed: int) -> Outcome:
    """The reset button, or a dip of the supply that the chip itself notices: at any cycle. In every
    fourth run they come so fast that a start is cut short as well."""
    draw = drawn("resets", number, seed)
    if number % 4 == 3:
        ticks = [BEGIN_TICKS + number % 40]
        while ticks[-1] < TICKS - 200:
            ticks.append(ticks[-1] + draw.choice((0, 0, 1, 2, 5, 30, 120)))
    else:
        ticks = list(strikes(number, SPACED_TICKS))
    how = [draw.choice((EXTERNAL, BROWN_OUT)) for _ in ticks]
    every = [(tick, RESET, cause) for tick, cause in zip(ticks, how, strict=True)]
    return _struck(scene, draw, _work(scene, number, seed), every)


def hangs(scene: Scene, number: int, seed: int) -> Outcome:
    """The program stands still, with interrupts or without: its watchdog resets it."""
    draw = drawn("hangs", number, seed)
    every = [
        (tick, HANG, draw.choice((WITH_INTERRUPTS, WITHOUT_INTERRUPTS)))
        for tick in strikes(number, SPACED_TICKS)
    ]
    return _struck(scene, draw, _work(scene, number, seed), every)


def cuts(scene: Scene, number: int, seed: int) -> Outcome:
    """The power goes, at any cycle; in every second run just when something is being kept."""
    draw = drawn("cuts", number, seed)
    ticks = list(strikes(number, SPACED_TICKS))
    if number % 2:
        ticks = _while_keeping(scene, number, seed, draw)
    every = [(tick, RESET, POWER) for tick in ticks]
    return _struck(scene, draw, _work(scene, number, seed), every)


def _work(scene: Scene, number: int, seed: int) -> Trace:
    return scene.trace(scene.moves(seed * SCENES + number % SCENES))


def reset_in_a_run(scene: Scene, number: int, seed: int) -> Outcome:
    """The reset button in one tick of a winch's run after another."""
    return _in_a_run(scene, number, seed, (RESET, EXTERNAL))


def hang_in_a_run(scene: Scene, number: int, seed: int) -> Outcome:
    """The same with a program that stands still."""
    return _in_a_run(scene, number, seed, (HANG, number % 2))


def cut_in_a_run(scene: Scene, number: int, seed: int) -> Outcome:
    """The same with the power."""
    return _in_a_run(scene, number, seed, (RESET, POWER))


def _in_a_run(scene: Scene, number: int, seed: int, what: tuple[int, int]) -> Outcome:
    """Anchor and hoist run both ways, and both ways once more; each time they are struck in the
    tick `number` of their run."""
    draw = drawn("in a run", number, seed)
    keys = [index for index, one in enumerate(scene.plan.controls) if one.name in KEYS_OF_WINCHES]
    down, centre, up = range(3)
    moves, every = [], []
    for turn, way in enumerate((down, up, down)):
        begin = BEGIN_TICKS + turn * TURN_TICKS
        for key in keys:
            moves.append(Move(begin, "put", (key,), way))
            moves.append(Move(begin + HELD_TICKS, "put", (key,), centre))
        every.append((begin + FIRST_ANSWER_TICKS + number, *what))
    ticks = BEGIN_TICKS + 3 * TURN_TICKS
    return _struck(scene, draw, scene.trace(moves, ticks), every)


def _while_keeping(scene: Scene, number: int, seed: int, draw: random.Random) -> list[int]:
    """Ticks in which what has just changed is on its way into the EEPROM."""
    changes = scene.kept_changes(seed * SCENES + number % SCENES)
    ticks: list[int] = []
    for change in changes[draw.randrange(3) :]:
        if not ticks or change > ticks[-1] + SPACED_TICKS:
            ticks.append(change + draw.randrange(1, 12))
    return ticks


def images(scene: Scene, draw: random.Random) -> bytes:
    """An EEPROM as it may lie there: erased; one record; or one in every place, the running number
    about to wrap, the newest in the last place or in the midst of them."""
    plan, board = scene.plan, scene.board
    kept = bytearray(plan.kept_bytes)
    for index, part in plan.kept_parts(bytes(kept)):
        function = plan.functions[index]
        at = sum(one.kept_bytes for one in plan.functions[:index])
        if isinstance(function, Winch):
            whole = function.first_limit_ticks * function.second_limit_ticks
            place = draw.choice((0, whole, whole // 3, 0xFFFFFFFF))
            kept[at : at + 4] = place.to_bytes(4, "little")
        else:
            kept[at : at + len(part)] = bytes([draw.randrange(2)] * len(part))
    match draw.randrange(3):
        case 0:
            return b""
        case 1:
            return record(plan, bytes(kept), draw.choice((1, 0xFFFF)))
        case _:
            count = places(plan, board)
            newest = draw.choice((0xFFFD, 0xFFFF, 3, 0x7FFF))
            last = draw.choice((count - 1, count - 1, draw.randrange(count)))
            ring = [
                record(plan, bytes(kept), (newest - (last - place) % count) % 0x10000)
                for place in range(count)
            ]
            return b"".join(ring)


def _struck(
    scene: Scene,
    draw: random.Random,
    trace: Trace,
    every: list[tuple[int, int, int]],
) -> Outcome:
    """`every` fault's tick, kind and how."""
    eeprom = images(scene, draw)
    faults = [
        (scene.at_tick(tick, eeprom) + draw.randrange(CYCLES_A_TICK), kind, how, 0)
        for tick, kind, how in every
    ]
    run = scene.run(
        scene.events(trace, eeprom),
        ticks=trace.ticks,
        eeprom=eeprom,
        faults=faults,
        torn=draw.choice(TORN),
    )
    outcome = Outcome(faults=len(faults))
    hanging = any(kind == HANG for _, kind, _ in every)
    found = judge(scene, run, outcome, eeprom, hang_ms=MOST_HANG_MS if hanging else 0)
    if len(run.resets) != len(faults):
        outcome.complain(f"{len(faults)} faults led to {len(run.resets)} resets")
        return outcome
    for (cycle, cell), reset in zip(run.struck, run.resets, strict=True):
        if hanging:
            outcome.took(judging.HANG, reset - cycle)
            if not 0 < reset - cycle < MOST_HANG_MS * CYCLES_A_MS:
                outcome.complain(f"a hang went on for {(reset - cycle) / CYCLES_A_MS:.1f} ms")
        if cell >= 0:
            outcome.met.add(f"byte {cell % scene.plan.kept_record_bytes}")
            outcome.met.add(f"cell {cell}")
    for life, (cycle, _) in zip(found, run.struck, strict=False):
        tick = int((life.run.ticks["done"] < cycle).sum())
        outcome.met |= phases(scene, life, iter([min(tick, len(life.run.ticks) - 1)]))
    for before, after in pairwise(found):
        _keeps(scene, before, after, outcome)
    _tells_why(run, every, outcome)
    return outcome


def _keeps(scene: Scene, before: Life, after: Life, outcome: Outcome) -> None:
    """Of each function, what is found is what it was; and a winch is never said to hang where it
    set out from more than RECORD_TICKS ago."""
    plan = scene.plan
    kept = recalled(plan, scene.board, after.eeprom)
    had = recalled(plan, scene.board, before.eeprom)
    was = kept_by_tick(scene, before)
    if not kept:
        if had or any(one.bytes != was[0].bytes for one in was[:-RECORD_TICKS]):
            outcome.complain("what was kept is lost")
        return
    parts = [dict(plan.kept_parts(one.bytes)) for one in was]
    for index, part in plan.kept_parts(kept):
        function = plan.functions[index]
        if isinstance(function, Winch):
            _knows_its_place(function.name, int.from_bytes(part, "little"), index, was, outcome)
        elif part != dict(plan.kept_parts(had)).get(index) and part not in {
            one[index] for one in parts
        }:
            outcome.complain(f"{function.name}: found {part.hex()}, which it never was")


def _knows_its_place(name: str, said: int, index: int, was: list[Kept], outcome: Outcome) -> None:
    if said == NOBODY_KNOWS:
        return
    there = [tick for tick, one in enumerate(was) if one.rooms[index] == said]
    if not there:
        outcome.complain(f"{name}: {said} units on record, where it never was")
        return
    left = [tick for tick in range(there[-1] + 1, len(was)) if was[tick].runs[index]]
    behind = len(was) - left[0] if left else 0
    outcome.took(judging.PLACE, behind * CYCLES_A_TICK)
    if behind > RECORD_TICKS:
        outcome.complain(
            f"{name}: {said} units on record, it set out from there {behind} ticks ago"
        )


def _tells_why(run: ChipRun, every: list[tuple[int, int, int]], outcome: Outcome) -> None:
    """The board says at its start why it was started."""
    _, kind, how = every[-1]
    why = "watchdog" if kind == HANG else CAUSES[how]
    said = run.said[run.said["cycle"] > run.resets[-1]]
    told = [one for one in words_of(said) if one.startswith("who reset")]
    if len(run.ticks) and told and f"cause={why}" not in told[0]:
        outcome.complain(f"{told[0]}, but it was {why}")


KINDS = (
    Kind("resets and brown-outs", resets, SPACED_TICKS * SCENES, 2),
    Kind("hangs", hangs, SPACED_TICKS * SCENES, 1),
    Kind("power cuts", cuts, SPACED_TICKS * SCENES * 2, 2),
    Kind("reset at every tick of a winch's run", reset_in_a_run, IN_A_RUN, 1, ("own pins",)),
    Kind("hang at every tick of a winch's run", hang_in_a_run, IN_A_RUN, 1, ("own pins",)),
    Kind("power cut at every tick of a winch's run", cut_in_a_run, IN_A_RUN, 1, ("own pins",)),
)
