"""Faults on the whole sketch in the simulated chip: `python -m tests.benchmarks.faults`.

The signal goes and returns at every phase of every behaviour; receivers glitch, freeze, slip and
repeat; the chip is reset, hangs and loses its power at every tick of a winch's run and in the midst
of what it keeps; switches stick and bounce, the battery dips, the serial line is flooded, counters
wrap. After each fault: nothing is on that the plan forbids, loss is safe in time, the model agrees
to the bit, what is kept is whole. Ends with 1 where anything falls short.

The short share takes about half a minute; `--long` is the whole campaign, hours of it. With a
journal it can be ended at any time and goes on where it was. Of a supply that dips the simulated
chip knows only the reset that its brown-out detector makes of it, never wrong instructions below
that.
"""

from __future__ import annotations

import argparse
import platform
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from gen.behaviours import Winch
from tests.benchmarks.faults import judge
from tests.benchmarks.faults.campaign import KINDS, Journal, Total, results, tasks
from tests.benchmarks.faults.restarts import MOST_HANG_MS
from tests.benchmarks.faults.serial import MOST_SILENT_MS
from tests.benchmarks.faults.ships import ship
from tests.benchmarks.table import Row, at_least, at_most, printed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tests.benchmarks.faults.kind import Kind

CYCLES_AN_HOUR = 16_000_000 * 3_600

GOALS_MS = {
    judge.LOSS: 300 + 5 + judge.SLACK_MS,  # lost after, and the tick that notices it
    judge.HANG: MOST_HANG_MS,
    judge.POWER: 0.1,
    judge.SWITCH: 20 + 5 + judge.SLACK_MS,  # debounce, and the tick that believes it
    judge.SILENT: MOST_SILENT_MS + judge.SLACK_MS,
    judge.PLACE: judge.RECORD_TICKS * 5,
}

COVERED_AT_LEAST = 0.95
"""Of all phases, and of all ticks of a winch's run, which the long campaign must meet. Which run a
press leads to depends on what the fault before it left."""


def rows(totals: dict[str, Total], *, long_run: bool) -> Iterator[Row]:
    """Faults tried and survived by kind, the worst times, what was met, how long it took."""
    for name, total in totals.items():
        told = f"{total.survived:,} of {total.faults:,} in {total.runs} runs"
        yield Row(
            "survived", name, told, "all", total.survived == total.faults and not total.complaints
        )
    tried = sum(total.faults for total in totals.values())
    survived = sum(total.survived for total in totals.values())
    yield Row("survived", "all kinds", f"{survived:,} of {tried:,}", "all", survived == tried)
    for what, most in GOALS_MS.items():
        times = [total.worst_ms[what] for total in totals.values() if what in total.worst_ms]
        if times:
            yield at_most(what, "worst", max(times), most, "ms")
    yield from _met(totals, long_run=long_run)
    hours = sum(total.cycles for total in totals.values()) / CYCLES_AN_HOUR
    yield Row("simulated", "all kinds", f"{hours:.2f} h")


def _met(totals: dict[str, Total], *, long_run: bool) -> Iterator[Row]:
    plan = ship("own pins").plan
    states = {f"{one.name} {state}" for one in plan.functions for state in one.states}
    ways = {
        f"run {one.name} {state} {tick}"
        for one in plan.functions
        if isinstance(one, Winch) and one.unknown is not None
        for state, limit in zip(
            one.states[1:], (one.first_limit_ticks, one.second_limit_ticks), strict=True
        )
        for tick in range(1, limit + 1)
    }

    def covered(what: str, of: str, met: set[str], every: set[str]) -> Row:
        if long_run:
            return at_least(
                what, of, len(met & every), int(COVERED_AT_LEAST * len(every)), f"of {len(every)}"
            )
        return Row(what, of, f"{len(met & every)} of {len(every)}")

    for name, total in totals.items():
        if total.met & states and total.runs:
            yield covered("states of functions met", name, total.met, states)
        if "winch's run" in name:
            yield covered("ticks of runs met", name, total.met, ways)
    torn = {one for total in totals.values() for one in total.met if one.startswith("byte ")}
    if torn:
        every = {f"byte {place}" for place in range(plan.kept_record_bytes)}
        yield covered("bytes of a record cut or reset while written", "all kinds", torn, every)


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="python -m tests.benchmarks.faults",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--long", action="store_true", help="the whole campaign")
    parser.add_argument("--kind", default="", help="only kinds whose name has this in it")
    parser.add_argument("--seed", type=int, default=1, help="other chances (1)")
    parser.add_argument("--processes", type=int, default=2, help="so many at once (2)")
    parser.add_argument("--nice", type=int, default=0, help="how far they give way to others (0)")
    parser.add_argument("--journal", type=Path, help="a file to go on from, and to note runs in")
    parser.add_argument("--minutes", type=float, help="stop after so long; the journal goes on")
    chosen = parser.parse_args()
    kinds = [kind for kind in KINDS if chosen.kind in kind.name]
    if not kinds:
        print(f"no kind has {chosen.kind!r} in its name: " + "; ".join(one.name for one in KINDS))
        return 2
    totals, left = _campaign(kinds, chosen)
    print(f"{platform.machine()}, Python {platform.python_version()}, seed {chosen.seed}")
    table = list(rows(totals, long_run=chosen.long and not left))
    print(printed(table))
    for name, total in totals.items():
        for complaint in total.complaints:
            print(f"{name}: {complaint}")
    if left:
        print(f"{left:,} runs are left")
    return 1 if any(row.met is False for row in table) else 0


def _campaign(kinds: Sequence[Kind], chosen: argparse.Namespace) -> tuple[dict[str, Total], int]:
    """What came of it, and how many runs are left."""
    totals = {kind.name: Total() for kind in kinds if chosen.long or kind.few}
    journal = Journal(chosen.journal)
    done = journal.read()
    todo = tasks(kinds, chosen.seed, long_run=chosen.long)
    for task in todo:
        if task in done:
            totals[task.kind].add(task, done[task])
    left = [task for task in todo if task not in done]
    began = told = time.monotonic()
    count = 0
    for task, outcome in results(left, chosen.processes, chosen.nice):
        journal.note(task, outcome)
        totals[task.kind].add(task, outcome)
        count += 1
        for complaint in outcome.complaints:
            print(f"\n{task.kind}: {task.scene}, run {task.number}: {complaint}", file=sys.stderr)
        now = time.monotonic()
        if now - told > 1 or count == len(left):
            told = now
            faults = sum(total.faults for total in totals.values())
            rate = (now - began) / count
            print(
                f"\r{len(todo) - len(left) + count:,} of {len(todo):,} runs, {faults:,} faults, "
                f"{rate * (len(left) - count) / 60:.0f} min to go ",
                end="",
                file=sys.stderr,
                flush=True,
            )
        if chosen.minutes is not None and now - began > 60 * chosen.minutes:
            break
    print(file=sys.stderr)
    return totals, len(left) - count


if __name__ == "__main__":
    sys.exit(main())
