"""Many inputs that nobody means to write: `python -m tests.fuzz [TARGET ...] [--inputs N]`.

Input number n of a target is the same in every run with the same seed. Two processes take blocks
of them; how far they have come is written down after each block, so that the same command goes on
where it was stopped. What an input must not do is in guard.py. One that does it is kept in the
folder, as it is and shrunk, and the command ends with 1.
"""

from __future__ import annotations

import argparse
import faulthandler
import json
import sys
import time
import traceback
from collections import Counter
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from gen.cache import cache_folder
from tests.fuzz.guard import bounded_memory, trusted
from tests.fuzz.shrink import smallest
from tests.fuzz.target import drawn
from tests.fuzz.targets import TARGETS

if TYPE_CHECKING:
    from tests.fuzz.target import Target

BLOCK = 500
HANGS_S = 1800
"""A process that no signal reaches is ended after so long at one block, and tells where it is."""

_ready: dict[str, Target] = {}
"""In each process: the targets, warmed up."""


class Failure(NamedTuple):
    """An input that did what none may do."""

    number: int
    content: bytes
    why: str


class Judged(NamedTuple):
    """What came of one block. `slowest_s` is of the processor's time."""

    block: int
    came_of: Counter[str]
    failures: list[Failure]
    slowest_s: float
    slowest: int


def target_named(name: str) -> Target:
    """A target that has read good inputs."""
    if name not in _ready:
        with trusted():
            target = TARGETS[name]()
            target.warm_up()
        _ready[name] = target
    return _ready[name]


def fault_of(target: Target, content: bytes) -> str:
    """What is wrong with what this input does, "" if nothing is."""
    try:
        target.read(content)
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        return f"{type(error).__name__} in {Path(last.filename).name}:{last.name}: {error}"
    return ""


def judge(name: str, seed: int, block: int, inputs: int) -> Judged:
    """Reads one block of inputs."""
    target = target_named(name)
    came_of: Counter[str] = Counter()
    failures = []
    slowest = (0.0, 0)
    with ExitStack() as stack:
        faulthandler.dump_traceback_later(HANGS_S, exit=True)
        stack.callback(faulthandler.cancel_dump_traceback_later)
        stack.enter_context(bounded_memory())
        for number in range(BLOCK * block, min(BLOCK * (block + 1), inputs)):
            content = target.make(drawn(seed, name, number))
            began = time.process_time()
            try:
                came_of[target.read(content)] += 1
            except Exception:
                why = fault_of(target, content)
                failures.append(Failure(number, content, why or "only once"))
            slowest = max(slowest, (time.process_time() - began, number))
    return Judged(block, came_of, failures, *slowest)


class Kept:
    """How far a target has come, in a file."""

    def __init__(self, folder: Path, name: str, seed: int) -> None:
        self.file = folder / f"{name}-{seed}.json"
        said = json.loads(self.file.read_text("utf-8")) if self.file.exists() else {}
        self.done: set[int] = set(said.get("blocks", ()))
        self.came_of: Counter[str] = Counter(said.get("came of", {}))
        self.failures: int = said.get("failures", 0)
        self.slowest: tuple[float, int] = tuple(said.get("slowest", (0.0, 0)))

    def add(self, judged: Judged) -> None:
        """One more block."""
        self.done.add(judged.block)
        self.came_of += judged.came_of
        self.failures += len(judged.failures)
        self.slowest = max(self.slowest, (judged.slowest_s, judged.slowest))
        said = {
            "blocks": sorted(self.done),
            "came of": dict(self.came_of.most_common()),
            "failures": self.failures,
            "slowest": self.slowest,
        }
        partial = self.file.with_suffix(".partial")
        partial.write_text(json.dumps(said), "utf-8")
        partial.replace(self.file)

    @property
    def told(self) -> str:
        """In a line."""
        read = self.came_of.total() + self.failures
        return (
            f"{read:,} inputs, {self.failures} failures, {len(self.came_of)} kinds of answer, "
            f"slowest {self.slowest[0]:.2f} s (number {self.slowest[1]})"
        )


def keep(folder: Path, name: str, seed: int, failure: Failure) -> None:
    """Writes a failing input down, as it is and shrunk."""
    stem = f"{name}-{seed}-{failure.number}"
    (folder / f"{stem}.input").write_bytes(failure.content)
    target = target_named(name)
    kind = failure.why.partition(":")[0]
    small = smallest(
        failure.content, lambda tried: fault_of(target, tried).partition(":")[0] == kind
    )
    (folder / f"{stem}.small").write_bytes(small)
    print(f"{name}: input {failure.number}: {failure.why}\n  {folder / stem}.small", flush=True)


def run(name: str, options: argparse.Namespace) -> int:
    """All inputs of one target that are not yet done; gives how many failed, ever."""
    kept = Kept(options.keep, name, options.seed)
    blocks = -(-options.inputs // BLOCK)
    left = iter(sorted(set(range(blocks)) - kept.done, reverse=True))
    shown = time.monotonic()
    seen: set[str] = set()
    until = shown + options.seconds
    with ProcessPoolExecutor(options.processes) as pool:
        running: set[Future[Judged]] = set()
        while True:
            while len(running) < options.processes + 1 and time.monotonic() < until:
                if (block := next(left, None)) is None:
                    break
                running.add(pool.submit(judge, name, options.seed, block, options.inputs))
            if not running:
                break
            done, running = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                judged = future.result()
                kept.add(judged)
                for failure in judged.failures:
                    kind = failure.why.partition(":")[0]
                    if kind not in seen:
                        seen.add(kind)
                        keep(options.keep, name, options.seed, failure)
            if time.monotonic() - shown > 10:
                shown = time.monotonic()
                print(f"{name}: {kept.told}", file=sys.stderr, flush=True)
    print(f"{name}: {kept.told}", flush=True)
    return kept.failures


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=", ".join(TARGETS))
    parser.add_argument("--inputs", type=int, default=1_000_000, help="of each (default: 1000000)")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="of each, at most")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--keep", type=Path, default=cache_folder() / "fuzz", metavar="DIR")
    options = parser.parse_args()
    unknown = set(options.targets) - TARGETS.keys()
    if unknown:
        parser.error(f"no such target: {', '.join(sorted(unknown))}")
    options.keep.mkdir(parents=True, exist_ok=True)
    try:
        failed = sum(run(name, options) for name in options.targets or TARGETS)
    except KeyboardInterrupt:
        print("stopped; the same command goes on from here", flush=True)
        return 130
    except BrokenProcessPool:
        print("a process was ended: what it was at stands above", flush=True)
        return 1
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
