"""How fast the tools are: rungs in ticks a second, commands as ratios and in seconds.

Ratios are taken within one run, on one machine; an absolute time says little about another one.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from gen.load import load
from gen.plan import TICK_MS, TICK_US
from gen.resources import resource
from host_tools.agree import agree
from host_tools.model import Model
from host_tools.rungs import RUNGS, open_rung
from host_tools.thumbs import random_trace
from tests.benchmarks.pond import afternoon
from tests.benchmarks.table import Row, at_least, at_most
from tests.benchmarks.trouble import tried

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

STARTERS = resource("templates") / "ships"
LARGEST = STARTERS / "salvor.yaml"

AGREE_TICKS = {"logic": 10_000_000, "firmware": 500_000}
TROUBLE_HOURS = 24

SHORT_SHARE = 20
"""A short run compares a twentieth of the ticks that the goals name."""


def rungs() -> Iterator[Row]:
    """How fast each rung is with the largest starter."""
    loaded = load(LARGEST)
    trace = random_trace(loaded.plan, 40_000, 1)
    for name in RUNGS:
        with open_rung(name, loaded.plan, loaded.board) as rung:
            began = time.perf_counter()
            rung.run(trace)
            rate = trace.ticks / (time.perf_counter() - began)
            yield Row("ticks a second", name, f"{rate:,.0f}")


def agreement(*, long_run: bool, tell: Callable[[str], None]) -> Iterator[Row]:
    """Ticks in which every starter is the same on each lower rung as in the model."""
    for path in sorted(STARTERS.glob("*.yaml")):
        loaded = load(path)
        for name, most in AGREE_TICKS.items():
            tell(f"agreement of {path.stem} on {name}")
            ticks = most if long_run else most // SHORT_SHARE
            with open_rung(name, loaded.plan, loaded.board) as rung:
                began = time.perf_counter()
                result = agree(loaded.plan, rung, ticks, seed=1)
            took_s = time.perf_counter() - began
            yield Row(
                f"agree, {ticks:,} ticks",
                f"{path.stem} on {name}",
                f"{int(result.difference is not None)} differences, {ticks / took_s:,.0f} a second",
                "0 differences",
                result.difference is None,
            )


def replay() -> Iterator[Row]:
    """Eight hours of sixteen channels in the model."""
    plan = load(LARGEST).plan
    trace = afternoon(plan, hours=8)
    began = time.perf_counter()
    Model(plan).run(trace, digests=False)
    took_s = time.perf_counter() - began
    real_s = trace.ticks * TICK_US / 1e6
    of = f"model, {len(plan.channels)} channels"
    yield at_least("replay of 8 h", of, real_s / took_s, 2000, "x real time")


def trouble(*, long_run: bool) -> Iterator[Row]:
    """Hours of what real receivers do wrong; see trouble.py."""
    plan = load(STARTERS / "pinnace.yaml").plan
    hours = TROUBLE_HOURS if long_run else 1
    verdicts = [tried(plan, 1, seed) for seed in range(hours)]
    wrong, changes = (
        sum(column) for column in zip(*((v.wrong, v.changes) for v in verdicts), strict=True)
    )
    of = f"pinnace, {hours} h of it, {changes:,} changes asked for"
    yield Row("changes missing or unasked for", of, str(wrong), "0", wrong == 0)
    late = max(verdict.late_ticks for verdict in verdicts) * TICK_MS
    presses = sum(verdict.presses for verdict in verdicts)
    of = f"pinnace, latest of {presses:,} presses and releases"
    yield at_most("answered beyond the stated time", of, late, 0, "ms")


def _seconds(command: Sequence[str], runs: int = 9) -> float:
    """The median wall time of a command, after one run that is not counted."""
    times = []
    for _ in range(runs + 1):
        began = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        times.append(time.perf_counter() - began)
    return statistics.median(times[1:])


def commands() -> Iterator[Row]:
    """Start-up against a bare interpreter, and the commands that are used all day."""
    pinrail = str(Path(sys.executable).with_name("pinrail"))
    bare_s = _seconds([sys.executable, "-c", "pass"])
    help_s = _seconds([pinrail, "--help"])
    yield at_most("pinrail --help", "python -c pass", help_s / bare_s, 3, "x")
    with tempfile.TemporaryDirectory() as folder:
        both_s = _seconds([pinrail, "check", str(LARGEST)]) + _seconds(
            [pinrail, "sketch", str(LARGEST), "--out", folder]
        )
        papers_s = _seconds([pinrail, "papers", str(LARGEST), "--out", folder])
    yield at_most("check and sketch", LARGEST.stem, both_s, 0.6, "s")
    yield at_most("papers", LARGEST.stem, papers_s, 2, "s")
    power_s = _seconds([pinrail, "power", str(LARGEST)])
    yield at_most("power", LARGEST.stem, power_s, 2, "s")


def all_rows(*, long_run: bool, tell: Callable[[str], None]) -> Iterator[Row]:
    """Every row of this module; `tell` is told what is being measured."""
    tell("commands")
    yield from commands()
    tell("replay")
    yield from replay()
    tell("trouble")
    yield from trouble(long_run=long_run)
    tell("rungs")
    yield from rungs()
    yield from agreement(long_run=long_run, tell=tell)
