"""Live agreement over the link: the sketch in a simulated chip, its own sampled inputs in the
model, random thumbs."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from gen.load import load
from gen.plan import TICK_MS
from gen.render import render
from gen.resources import resource
from host_tools.firmware import FirmwareRung
from host_tools.link.live import Live
from host_tools.link.simulated.chip_board import ChipBoard
from host_tools.link.simulated.sources import thumbs
from host_tools.link.stream import Stream
from tests.benchmarks.table import Row, at_least
from tests.host_tools.link.wires import InStep

if TYPE_CHECKING:
    from collections.abc import Iterator

SHIP = resource("templates") / "ships" / "salvor-nano.yaml"
SECONDS = 3_600
SHORT_SHARE = 20
SEEDS_A_START = 1_000
"""Each start goes on with other thumbs than the ones before."""


def compared(seconds: float, seed: int) -> Live:
    """What came of so long a time."""
    loaded = load(SHIP)
    plan = loaded.plan
    rung = FirmwareRung.of_sketch(plan, loaded.board, render(plan, loaded.board))
    seeds = count(seed, SEEDS_A_START)
    board = ChipBoard(rung, lambda: thumbs(plan, next(seeds)))
    try:
        session = InStep(board).session()
        live = Live(plan)
        session.listener = Stream(live.take, live.start_anew, lambda: session.dropped).hear
        live.start_anew()
        live.begin(session.open().kept)
        until = session.now() + seconds
        while live.difference is None and session.now() < until:
            session.run(1)
            if live.waits_for_start:  # too much at once for the wire: press the reset button
                board.power_up("external")
                session.run(1)  # what it says by itself at its start would be taken for an answer
                live.begin(session.who().kept)
    finally:
        board.close()
    return live


def rows(*, long_run: bool) -> Iterator[Row]:
    """An hour, or a few minutes of one."""
    seconds = SECONDS if long_run else SECONDS // SHORT_SHARE
    live = compared(seconds, seed=1)
    told = "0 differences" if live.difference is None else str(live.difference)
    of = f"{SHIP.stem} on the firmware board"
    yield Row(f"live agreement, {seconds} s", of, told, "0 differences", live.difference is None)
    yield Row("stopped by lost lines", of, f"{live.stopped} times")
    # The last second or so before an end is not compared: its tally has not come.
    least = (seconds - 3 - 3 * live.stopped) * 1000 // TICK_MS
    yield at_least("ticks compared", of, live.compared, least, "ticks")
