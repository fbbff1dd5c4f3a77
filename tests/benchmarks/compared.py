"""Edits of ship files, drawn at random and compared: harmless ones are proved equal, harmful ones
told apart, with the shortest way; and that is the shortest, for everything was tried."""

from __future__ import annotations

import time
from collections import Counter
from typing import TYPE_CHECKING

from gen.load import load_text
from host_tools.cli.ships import starters
from host_tools.compare.both import compare
from host_tools.compare.verdict import DIFFERENT, GONE, SAME, TO_THE_FRAME, TO_THE_TICK
from tests.benchmarks.table import Row, at_least, at_most
from tests.host_tools.compare.brute import soonest
from tests.host_tools.compare.edited import compared, harmful_edit, harmless_edit
from tests.host_tools.compare.prams import CASES, pram

if TYPE_CHECKING:
    from collections.abc import Iterator

EDITS = 200
SHORT_SHARE = 10
LARGEST = "salvor"
SEVERAL = (
    ("limit: {lower: 5 s,", "limit: {lower: 6 s,"),
    ("for: 3 s", "for: 4 s"),
    ("limit: {let go: 4 s, heave: 6 s}", "limit: {let go: 5 s, heave: 6 s}"),
    ("curve: 40 %", "curve: 50 %"),
    ("toggle: house key up", "momentary: house key up"),
)
"""What is changed at once in the largest starter: five functions and more."""


def rows(*, long_run: bool) -> Iterator[Row]:
    """A tenth of the edits, or all of them."""
    yield several_at_once()
    edits = EDITS if long_run else EDITS // SHORT_SHARE
    harmless = sum(
        all(one.verdict == SAME for one in compared(harmless_edit(seed))) for seed in range(EDITS)
    )
    yield at_least("harmless edits proved equal", f"{EDITS} of starters", harmless, EDITS, "")
    apart, shortest = 0, Counter[str]()
    for seed in range(edits):
        told = [one for one in compared(harmful_edit(seed)) if one.verdict in (DIFFERENT, GONE)]
        apart += bool(told)
        shortest[max((one.shortest for one in told[:1]), default="")] += 1
    of = f"{edits} of starters"
    yield at_least("harmful edits told apart", of, apart, edits, "")
    yield Row("  the shortest, to the tick", of, f"{shortest[TO_THE_TICK]}")
    yield Row("  the shortest, to a frame", of, f"{shortest[TO_THE_FRAME]}")
    same = sum(is_shortest(name) for name in CASES)
    yield at_least("shortest by trying everything", "small ships", same, len(CASES), "")


def several_at_once() -> Row:
    """How long it takes where five functions differ."""
    text = starters()[LARGEST].read_text(encoding="utf-8")
    new = text
    for before, after in SEVERAL:
        new = new.replace(before, after)
    began, used = time.perf_counter(), time.process_time()
    found = compare(load_text(text.encode()), load_text(new.encode()))
    spent, used = time.perf_counter() - began, time.process_time() - used
    differ = sum(one.verdict == DIFFERENT for one in found.verdicts)
    of = f"{LARGEST}, {differ} functions differ, {used:.1f} s of one processor"
    return at_most("compare", of, spent, 5, "s")


def is_shortest(name: str) -> bool:
    """Whether what is told of a small ship is what trying everything finds."""
    functions, change = CASES[name]
    old, new = pram(functions), pram(functions, change)
    told = [one.tick for one in compare(old, new).verdicts if one.verdict == DIFFERENT]
    width = [0, 2100, 3000, 3900]
    found = soonest(old.plan, new.plan, [width] * len(old.plan.channels), most_frames=40)
    return bool(told) and min(told) == found
