"""Which runs there are, and what came of them: shared out over processes, noted in a journal."""

from __future__ import annotations

import json
import os
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict, dataclass, field
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING

from tests.benchmarks.faults import (
    receiver,
    restarts,
    serial,
    signal_lost,
    supply,
    switches,
    work,
    wraps,
)
from tests.benchmarks.faults.judge import Outcome
from tests.benchmarks.faults.scene import Scene

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from tests.benchmarks.faults.kind import Kind

KINDS: tuple[Kind, ...] = (
    *signal_lost.KINDS,
    *receiver.KINDS,
    *restarts.KINDS,
    *switches.KINDS,
    *supply.KINDS,
    *serial.KINDS,
    *wraps.KINDS,
    *work.KINDS,
)
BY_NAME = {kind.name: kind for kind in KINDS}


@dataclass(frozen=True, order=True)
class Task:
    """One run: of which kind, in which scene, the number of the run, the campaign's seed."""

    kind: str
    scene: str
    number: int
    seed: int


@dataclass
class Total:
    """What came of all runs of one kind."""

    runs: int = 0
    faults: int = 0
    survived: int = 0
    cycles: int = 0
    complaints: list[str] = field(default_factory=list)
    worst_ms: dict[str, float] = field(default_factory=dict)
    met: set[str] = field(default_factory=set)

    def add(self, task: Task, outcome: Outcome) -> None:
        """A run with complaints counts as one fault that was not survived for each, at most all."""
        self.runs += 1
        self.faults += outcome.faults
        self.survived += max(0, outcome.faults - len(outcome.complaints))
        self.cycles += outcome.cycles
        where = f"{task.scene}, run {task.number}, seed {task.seed}"
        self.complaints += [f"{where}: {text}" for text in outcome.complaints]
        self.met |= outcome.met
        for what, ms in outcome.worst_ms.items():
            self.worst_ms[what] = max(ms, self.worst_ms.get(what, 0.0))


def tasks(kinds: Sequence[Kind], seed: int, *, long_run: bool) -> list[Task]:
    """All runs, mixed so that after any part of them every kind has had as large a part of its own.
    Those of a short share are spread over those of the long campaign."""
    mixed: list[tuple[float, Task]] = []
    for kind in kinds:
        count = kind.runs if long_run else kind.few
        stride = kind.runs // count if count else 1
        for scene in kind.scenes:
            for place in range(count):
                # Odd and even runs, and all thumbs, have their turn in a short share too.
                number = place * stride + (3 * place % 4 if stride > 4 else 0)
                mixed.append(((place + 0.5) / count, Task(kind.name, scene, number, seed)))
    return [task for _, task in sorted(mixed)]


@cache
def scene_of(name: str) -> Scene:
    """Compiled once a process."""
    return Scene(name)


def tried(task: Task) -> Outcome:
    """One run."""
    return BY_NAME[task.kind].run(scene_of(task.scene), task.number, task.seed)


class Journal:
    """A line of JSON for each run that is done, so that a campaign can go on where it was ended."""

    def __init__(self, path: Path | None) -> None:
        self._path = path

    def read(self) -> dict[Task, Outcome]:
        """What is done. A last line that was cut short counts for nothing."""
        done: dict[Task, Outcome] = {}
        if self._path is None or not self._path.exists():
            return done
        for line in self._path.read_text(encoding="utf-8").splitlines():
            try:
                entry = json.loads(line)
            except json.JSONDecodeError:
                continue
            entry["outcome"]["met"] = set(entry["outcome"]["met"])
            done[Task(**entry["task"])] = Outcome(**entry["outcome"])
        return done

    def note(self, task: Task, outcome: Outcome) -> None:
        """Adds one run."""
        if self._path is None:
            return
        entry = {"task": asdict(task), "outcome": {**asdict(outcome), "met": sorted(outcome.met)}}
        with self._path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(entry) + "\n")


def results(todo: Sequence[Task], processes: int, nice: int = 0) -> Iterator[tuple[Task, Outcome]]:
    """Every run as it is done. Whoever stops listening stops the campaign."""
    if processes == 1:
        for task in todo:
            yield task, tried(task)
        return
    pool = ProcessPoolExecutor(processes, initializer=os.nice, initargs=(nice,))
    try:
        waiting = iter(todo)
        first = islice(waiting, 2 * processes)
        running = {pool.submit(tried, task): task for task in first}
        while running:
            done = next(as_completed(running))
            task = running.pop(done)
            follows = next(waiting, None)
            if follows is not None:
                running[pool.submit(tried, follows)] = follows
            yield task, done.result()
    finally:
        pool.shutdown(cancel_futures=True)
