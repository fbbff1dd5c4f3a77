"""What the link carries and what it costs, in exact cycles of the simulated chip."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Toggle
from gen.load import load
from gen.render import render
from gen.resources import resource
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import EVENT
from host_tools.firmware.pulses import lay_out
from tests.benchmarks.stimuli import CYCLES_A_US, Stimulus
from tests.firmware.link_lines import at, line, tallies_of, together, words_of
from tests.gen.damage import KINDS, compiled_hearer, damaged_stream, hear, judged
from tests.thumb_frames import thumb_frames

if TYPE_CHECKING:
    from numpy.typing import NDArray

CYCLES_A_TICK = 80_000
CYCLES_A_MS = 16_000
LINE_BYTES_A_SECOND = 11_764
"""What 115200 baud carry with the chip's divider: a frame takes 1,360 cycles."""

MOST_SILENCE_MS = 500
MOST_LOAD_PERCENT = 10
MOST_ERROR_WHILE_HOST_SENDS_US = 1.5
"""0.7, and the 12 cycles after which the receiving interrupt lets an edge in."""

DAMAGED_A_PART = 100_000
DAMAGED_MOST = 1_000_000

FRAMES_A_PART = 15_000
"""Five minutes."""

LinkFigure = tuple[str, str, float, str, float | None]
"""Of which ship, what, how much, in what, and how much it may be at most."""


def link_figures(*, parts: int = 1, frames: int = FRAMES_A_PART) -> list[LinkFigure]:
    """The link at full load (salvor-nano, `parts` runs of so many frames from power-up), under a
    flood from the host, and how soon a force ends in silence (tender)."""
    return [*_streaming(parts, frames), *_forcing(), *_damaged(parts)]


def _rung(starter: str) -> FirmwareRung:
    loaded = load(resource("templates") / "ships" / f"{starter}.yaml")
    return FirmwareRung.of_sketch(loaded.plan, loaded.board, render(loaded.plan, loaded.board))


def _streaming(parts: int, frames: int) -> list[LinkFigure]:
    dropped, late, most_bytes = 0, 0, 0.0
    with _rung("salvor-nano") as rung:
        ship = rung.plan.ship
        for seed in range(parts):
            trace = thumb_frames(rung.plan, frames, seed)
            run = rung.run_events(lay_out(trace, rung.first_tick).events(), trace.ticks)
            tally = tallies_of(words_of(run.said))[-1]
            dropped += tally["dropped"]
            late += tally["late"]
            seconds = run.cycles / (1000 * CYCLES_A_MS)
            most_bytes = max(most_bytes, len(run.said) / seconds)
        draw = random.Random(1)
        stimulus = Stimulus(
            "stagger", [1500.0] * len(rung.plan.inputs), key=0, pressed_us=1500.0, frames=500
        )
        noise = bytes(draw.choice(b"0123456789ABCDEF who\n\xff\x00") for _ in range(115_000))
        flooded = rung.run_events(stimulus.events(), 2_010, heard=at(rung.first_tick, noise))
        errors = _errors_us(stimulus, flooded.ticks["report"])
        tally = tallies_of(words_of(flooded.said))[-1]
        load_cycles = int((flooded.ticks["done"] - flooded.ticks["sampled"]).max())
    minutes = parts * frames / 3000
    return [
        (ship, f"link: lines lost in {minutes:g} min at full load", dropped, "", 0),
        (ship, "link: late ticks", late + tally["late"], "", 0),
        (ship, "link: sent at full load", most_bytes, "bytes/s", LINE_BYTES_A_SECOND),
        (ship, "link: longest tick while the host floods, of 5 ms",
         100 * load_cycles / CYCLES_A_TICK, "%", MOST_LOAD_PERCENT),
        (ship, "link: pulse error while the host floods, stagger: max",
         float(np.abs(errors).max()), "us", MOST_ERROR_WHILE_HOST_SENDS_US),
    ]  # fmt: skip


def _errors_us(stimulus: Stimulus, reports: NDArray[np.void]) -> NDArray[np.float64]:
    """Of every pulse of every channel, seen minus given."""
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    errors = []
    for channel in range(stimulus.widths.shape[1]):
        seen = pulses["width"][pulses["input"] == channel] / 2
        given = stimulus.widths[: len(seen), channel] / CYCLES_A_US
        errors.append(seen - given)
    return np.concatenate(errors)


def _damaged(parts: int) -> list[LinkFigure]:
    """Of damaged lines to the board, how many it obeyed, and how often it did not find back."""
    count = min(DAMAGED_A_PART * parts, DAMAGED_MOST) // len(KINDS)
    obeyed = lost = 0
    with tempfile.TemporaryDirectory() as name:
        hearer = compiled_hearer(Path(name))
        for seed, kind in enumerate(KINDS):
            result = judged(hear(hearer, damaged_stream(kind, count, seed)), count)
            obeyed += result[0]
            lost += result[1]
    what = f"of {count * len(KINDS)} damaged lines to the board"
    return [
        ("", f"link: {what}, obeyed", obeyed, "", 0),
        ("", f"link: {what}, third line behind not heard", lost, "", 0),
    ]


def _forcing() -> list[LinkFigure]:
    """From the last byte that the host sends to the pin that goes off, at any place in a tick."""
    worst = 0.0
    with _rung("tender") as rung:
        function, driven = next(
            (i, one.drives) for i, one in enumerate(rung.plan.functions) if isinstance(one, Toggle)
        )
        on_level = 0 if rung.plan.lines[driven].active_low else 1
        for shift in range(0, CYCLES_A_TICK, CYCLES_A_TICK // 20):
            words = [f"arm {function}", f"force {function} 1", "here"]
            begins = rung.first_tick + shift + 40 * CYCLES_A_TICK
            heard = together(
                *(at(begins + 8 * n * CYCLES_A_TICK, line(n, one)) for n, one in enumerate(words))
            )
            run = rung.run_events(np.empty(0, EVENT), 180, heard=heard)
            edges = run.edges[(run.edges["output"] == driven) & (run.edges["driven"] == 1)]
            was_on = edges["cycle"][edges["level"] == on_level][0]
            off = edges["cycle"][(edges["level"] != on_level) & (edges["cycle"] > was_on)][0]
            worst = max(worst, (int(off) - int(heard["cycle"][-1])) / CYCLES_A_MS)
        name = rung.plan.ship
    return [(name, "force: from the host's silence to the pin", worst, "ms", MOST_SILENCE_MS)]
