"""The bench's side of the page: how soon after its tick a pulse is on its way to the page, at what
cost, and whether hours grow the memory. Without a browser; that is in bench_page."""

from __future__ import annotations

import gc
import json
import random
import time
import tracemalloc
from typing import TYPE_CHECKING

from host_tools.bench.bench import Bench
from host_tools.bench.page import Page
from host_tools.bench.radio import Player
from host_tools.bench.simulated import SimulatedModel
from host_tools.cli.ships import starters
from host_tools.link.simulated.sources import thumbs
from host_tools.opened import opened_file
from tests.benchmarks.table import Row, at_most

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

SHIP = "salvor"
OF = "16 channels, 24 functions"

TURN_S = 0.005
STEPPED_S = 60
FULL_S = 70
"""The last minute is full by then: what grows afterwards would go on growing."""
GROWS_S, LONG_GROWS_S = 120, 3600
REAL_S = 10

MEDIAN_MS, P99_MS = 20, 40
MOST_CPU_PERCENT = 10
MOST_GROWTH_KB = 1_000


class _Way:
    """Where a page would be: counts, and when asked keeps when each pulse came and went."""

    def __init__(self) -> None:
        self.keeps = False
        self.late_ms: list[float] = []

    def waiting(self) -> int:
        return 0

    def send(self, text: str) -> None:
        if not self.keeps or '"rows"' not in text[:12]:
            return
        message = json.loads(text)
        now_ms = time.time() * 1000
        until_ms = message["at_ms"]
        for row in message["rows"]:
            if "p" in row:
                self.late_ms.append(now_ms - until_ms + (message["until"] - row["k"]) * 5)


def _bench(clock: Callable[[], float], way: _Way) -> Bench:
    bench = Bench(
        opened_file(starters()[SHIP]),
        lambda opened, first_k: SimulatedModel(opened.plan, clock, first_k=first_k),
        clock,
        lambda: time.time() * 1000,
    )
    bench.join(Page(way))
    return bench


def rows(*, long_run: bool) -> Iterator[Row]:
    """All of them."""
    yield from _latency()
    yield from _cost(LONG_GROWS_S if long_run else GROWS_S)


def _latency() -> Iterator[Row]:
    way = _Way()
    bench = _bench(time.monotonic, way)
    bench.source.play(Player(thumbs(bench.opened.plan, 3)))
    bench.start()
    way.keeps = True
    while not way.late_ms:  # the thumbs are thought up first
        bench.turn()
        time.sleep(0.002)
    way.late_ms.clear()
    ends = time.monotonic() + REAL_S
    while time.monotonic() < ends:
        bench.turn()
        time.sleep(0.002)
    late = sorted(way.late_ms)
    over = f"{OF}, {REAL_S} s, {len(late)} ticks with pulses"
    yield at_most("pulse to message, median", over, late[len(late) // 2], MEDIAN_MS, "ms")
    yield at_most("pulse to message, 99 %", over, late[len(late) * 99 // 100], P99_MS, "ms")


def _cost(grows_s: int) -> Iterator[Row]:
    """In stepped time: processor time, and memory in use, do not depend on who else is at work."""
    run = _stepped()
    begun = time.process_time()
    run(STEPPED_S)
    share = 100 * (time.process_time() - begun) / STEPPED_S
    yield at_most("processor, the bench", f"{OF}, {STEPPED_S} s", share, MOST_CPU_PERCENT, "%")
    # Watched from its beginning: memory that Python takes up again would else count as new.
    tracemalloc.start()
    run = _stepped()
    run(FULL_S)
    gc.collect()
    before, _ = tracemalloc.get_traced_memory()
    run(grows_s)
    gc.collect()
    after, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    grown_kb = (after - before) / 1000
    over = f"{OF}, {grows_s} s"
    yield at_most("growth of the bench's memory", over, grown_kb, MOST_GROWTH_KB, "kB")


def _stepped() -> Callable[[float], None]:
    """A bench that goes on for as many seconds as it is told."""
    now = [0.0]
    bench = _bench(lambda: now[0], _Way())
    bench.start()

    controls, draw = bench.opened.plan.controls, random.Random(3)

    def run(seconds: float) -> None:
        """With a control put somewhere else twenty times a second."""
        for turn in range(round(seconds / TURN_S)):
            if turn % 10 == 0:
                control = draw.randrange(len(controls))
                bench.source.radio.put(control, draw.randrange(len(controls[control].positions)))
            now[0] += TURN_S
            bench.turn()

    return run
