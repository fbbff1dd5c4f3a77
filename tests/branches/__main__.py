"""Branches and conditions of the sketch's logic under the test inputs: `python -m tests.branches`.

Drives the drawn plans of the ladder and prints, for each header, how many branches went both ways
(gcov, nothing inlined), and how many conditions of decisions were shown to decide (MC/DC). Ends
with 1 where one is neither reached nor explained in reasons.py.
"""

from __future__ import annotations

import argparse
import gzip
import json
import multiprocessing
import subprocess
import sys
import tempfile
from collections import defaultdict
from pathlib import Path
from typing import TYPE_CHECKING

from gen.boards import load_board
from gen.render import render
from host_tools.logic import LogicRung
from tests.branches.conditions import NOTES, Decision, Row, instrumented, shown
from tests.branches.inputs import plan_and_traces, plans
from tests.branches.reasons import reason_for

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.trace import Trace

SKETCH = Path(__file__).parents[2] / "templates" / "sketch"
ASIDE = ("-O0", "-w", "-fno-exceptions", "-Dalways_inline=noinline")

Branch = tuple[str, int, int]
"""A header, a line, and which of the ways on from there."""


def headers() -> Iterator[Path]:
    """Those that are measured."""
    for part in ("behaviours", "logic"):
        yield from sorted((SKETCH / part).glob("*.h"))


def taken(plan: Plan, traces: list[Trace]) -> dict[Branch, int]:
    """How often each branch was, in one sketch."""
    counts: dict[Branch, int] = defaultdict(int)
    with LogicRung(plan, render(plan, load_board("mega")), (*ASIDE, "--coverage")) as rung:
        for trace in traces:
            rung.run(trace)
        folder = rung._folder.name
        notes = [str(path) for path in Path(folder).glob("*.gcda")]
        subprocess.run(
            ["gcov", "--json-format", "--branch-probabilities", *notes],
            cwd=folder, check=True, capture_output=True,
        )  # fmt: skip
        for path in Path(folder).glob("*.gcov.json.gz"):
            told = json.loads(gzip.decompress(path.read_bytes()))
            for file in told["files"]:
                name = "/".join(Path(file["file"]).parts[-2:])
                if not name.startswith(("logic/", "behaviours/")):
                    continue
                for line in file["lines"]:
                    for way, branch in enumerate(line["branches"]):
                        counts[name, line["line_number"], way] += branch["count"]
    return dict(counts)


def conditions(plan: Plan, traces: list[Trace]) -> tuple[list[Decision], set[Row]]:
    """The decisions of all headers, and what was noted of them in one sketch."""
    sketch = render(plan, load_board("mega"))
    decisions: list[Decision] = []
    for path in headers():
        name = f"{path.parent.name}/{path.name}"
        text, found = instrumented(name, path.read_text(encoding="utf-8"), len(decisions))
        decisions += found
        if f"src/{name}" in sketch:
            notes = '#include "../mcdc.h"\n' if found else ""
            sketch[f"src/{name}"] = text.replace("#pragma once\n", f"#pragma once\n{notes}", 1)
    sketch["src/mcdc.h"] = NOTES
    rows: set[Row] = set()
    with tempfile.TemporaryDirectory(prefix="pinrail-mcdc-") as folder:
        out = Path(folder) / "rows"
        flags = ("-O0", "-w", "-std=gnu++17", f'-DMCDC="{out}"')
        with LogicRung(plan, sketch, flags) as rung:
            for trace in traces:
                rung.run(trace)
                for line in out.read_text(encoding="utf-8").splitlines():
                    number, looked, was, outcome = map(int, line.split())
                    rows.add((number, looked, was, bool(outcome)))
    return decisions, rows


def _measured(
    one: tuple[str, int, bool],
) -> tuple[dict[Branch, int], list[Decision], set[Row]]:
    favour, seed, in_turn = one
    plan, traces = plan_and_traces(favour, seed, in_turn=in_turn)
    return taken(plan, traces), *conditions(plan, traces)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.branches", description=__doc__)
    parser.add_argument("--plans", type=int, help="only so many of the drawn plans")
    parser.add_argument("--processes", type=int, default=2)
    chosen = parser.parse_args()
    branches: dict[Branch, int] = defaultdict(int)
    rows: set[Row] = set()
    decisions: list[Decision] = []
    every = plans(chosen.plans)
    with multiprocessing.Pool(chosen.processes) as pool:
        measured = pool.imap_unordered(_measured, every)
        for number, (counts, found, noted) in enumerate(measured, start=1):
            print(f"\rplan {number} of {len(every)} ", end="", file=sys.stderr, flush=True)
            for branch, count in counts.items():
                branches[branch] += count
            decisions = found
            rows |= noted
    return told(branches, decisions, rows)


def told(branches: dict[Branch, int], decisions: list[Decision], rows: set[Row]) -> int:
    """Prints what was reached; 1 if something is neither reached nor explained."""
    short = 0
    print("\n| header | branches | taken | conditions | shown to decide |")
    print("|---|--:|--:|--:|--:|")
    missed: list[str] = []
    whole = [0, 0, 0, 0]
    for path in headers():
        name = f"{path.parent.name}/{path.name}"
        lines = path.read_text(encoding="utf-8").splitlines()
        mine = {branch: count for branch, count in branches.items() if branch[0] == name}
        for (_, line, way), count in sorted(mine.items()):
            if not count:
                missed.append(f"{name}:{line} way {way}: {lines[line - 1].strip()}")
        every = [one for one in decisions if one.file == name]
        decided = [(one, shown(one, rows)) for one in every]
        for one, which in decided:
            for condition, is_shown in zip(one.conditions, which, strict=True):
                if not is_shown:
                    missed.append(f"{name}:{one.line} condition {condition}: {one.text}")
        row = (
            len(mine),
            sum(count > 0 for count in mine.values()),
            sum(len(one.conditions) for one in every),
            sum(sum(which) for _, which in decided),
        )
        whole = [a + b for a, b in zip(whole, row, strict=True)]
        if row[0] or row[2]:
            print(f"| `{name}` | {' | '.join(map(str, row))} |")
    print(f"| all | {' | '.join(map(str, whole))} |")
    for lost in missed:
        why = reason_for(lost)
        short += not why
        print(f"missed: {lost}\n  {why or 'NO REASON'}")
    return int(short > 0)


if __name__ == "__main__":
    sys.exit(main())
