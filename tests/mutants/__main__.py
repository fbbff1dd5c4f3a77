"""The score of the tests: `python -m tests.mutants`.

Each mutant is one small change of the sketch's logic, of the model, or of a number of a plan. It
is judged by compiled logic against the model (drawn plans, random and adversarial thumbs) and,
where that notices nothing, by the proofs of its subject. What nothing notices is listed;
survivors.py says of each why no test can. What is known already is not judged again: `--results`
holds it, one line each.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import random
import sys
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from tests.mutants.jobs import IN_TURN, Job, all_jobs
from tests.mutants.judge import NO_MUTANT, judged_logic, judged_model, judged_plan
from tests.mutants.lists import all_mutants
from tests.mutants.survivors import why

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tests.mutants.changes import Mutant

GOAL = 0.98
KINDS = {"logic": judged_logic, "model": judged_model, "plan": judged_plan}

BEST_SHOWN_BY = {
    **dict.fromkeys(
        ("receiver", "shared", "shared_channel", "sum_signal", "sharing"), str(IN_TURN)
    ),
    **dict.fromkeys(("deflection", "mixed", "tied", "stick"), "follow"),
    **dict.fromkeys(("kept", "duty"), "winch"),
    **dict.fromkeys(("sensor", "sensors", "digitalsensor", "analoguesensor"), "auto"),
    "leg": "sequence",
    "trigger": "rhythm",
}
"""For parts that are not named after a behaviour, the plans that have most of them."""

_jobs: list[Job] = []


def judged(mutant: Mutant) -> tuple[Mutant, str]:
    """What noticed it, first with a few plans, then with all; "" for nothing."""
    judge, jobs = KINDS[mutant.what], _suited(mutant)
    return mutant, judge(mutant, jobs, thorough=False) or judge(mutant, jobs, thorough=True)


def _suited(mutant: Mutant) -> list[Job]:
    """The plans that are most likely to show it first."""
    file = mutant.file.rpartition("/")[2].partition(".")[0].removesuffix("_more").lower()
    name = BEST_SHOWN_BY.get(file, file)
    return sorted(_jobs, key=lambda job: not (job.name.startswith(name) or job.name.endswith(name)))


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument("kinds", nargs="*", metavar="KIND", help="only these: logic, model, plan")
    parser.add_argument("--sample", type=int, help="only so many of each kind, drawn by a seed")
    parser.add_argument("--file", help="only of files whose name has this in it")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--results", type=Path, default=Path(".mutants"), help="a folder")
    chosen = parser.parse_args(arguments)
    _jobs[:] = all_jobs(chosen.results)
    known_file = chosen.results / f"judged-{'-'.join(chosen.kinds) or 'all'}.jsonl"
    known: dict[str, str] = {}
    if known_file.exists():
        lines = known_file.read_text(encoding="utf-8").splitlines()
        known = dict(json.loads(line) for line in lines)
    mutants = [
        one
        for kind in chosen.kinds or KINDS
        for one in _drawn([m for m in all_mutants() if m.what == kind], chosen.sample)
        if not chosen.file or chosen.file in one.file
    ]
    left = [one for one in mutants if one.key not in known]
    begun = time.monotonic()
    with (
        multiprocessing.get_context("fork").Pool(chosen.processes) as pool,
        known_file.open("a", encoding="utf-8") as results,
    ):
        for number, (mutant, by) in enumerate(pool.imap_unordered(judged, left), start=1):
            known[mutant.key] = by
            results.write(json.dumps([mutant.key, by]) + "\n")
            results.flush()
            spent = time.monotonic() - begun
            ahead = spent / number * (len(left) - number) / 60
            print(f"\r{number} of {len(left)}, {ahead:.0f} min left ", end="", file=sys.stderr)
            if not by and not why(mutant):
                print(f"\nnot noticed: {mutant.key}", file=sys.stderr, flush=True)
    return told(mutants, known)


def _drawn(mutants: list[Mutant], count: int | None) -> list[Mutant]:
    if count is None or count >= len(mutants):
        return mutants
    return random.Random(count).sample(mutants, count)


def told(mutants: list[Mutant], known: dict[str, str]) -> int:
    """Prints score and survivors; 1 if the score falls short of the goal."""
    counts: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS}
    for one in mutants:
        by = known[one.key]
        reason = why(one)
        if by == NO_MUTANT:
            outcome = NO_MUTANT
        elif by:
            outcome = "proof" if by.startswith("proof") else "traces"
        else:
            outcome = "equal" if reason else "survived"
        counts[one.what][outcome] += 1
        if not by:
            print(f"{outcome}: {one.key}" + (f"\n  {reason}" if reason else ""))
    print(
        "| mutants of | judged | by traces | by proofs | equal in all they do | survived | score |"
    )
    print("|---|--:|--:|--:|--:|--:|--:|")
    fine = True
    for kind, count in counts.items():
        noticed = count["traces"] + count["proof"]
        whole = noticed + count["survived"]
        if whole:
            score = noticed / whole
            fine &= score >= GOAL
            cells = (whole + count["equal"], count["traces"], count["proof"], count["equal"])
            row = " | ".join(map(str, (*cells, count["survived"])))
            print(f"| {kind} | {row} | {100 * score:.1f} % |")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
