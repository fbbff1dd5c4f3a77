"""Faults planted in the sketch, each with the kind of fault that brings it to light: a campaign
that finds nothing must be one that would have found something."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.benchmarks.faults.campaign import BY_NAME, tasks
from tests.benchmarks.faults.scene import Scene

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True)
class Planted:
    """A text of one file of the sketch and what is there instead; which kind finds it. `runs` are
    those of the long campaign that do where its short share does not."""

    name: str
    edit: tuple[str, str, str]
    kind: str
    scene: str = "own pins"
    runs: tuple[int, ...] = ()


BOARD, KEEPER, LINK = "src/board/board.cpp", "src/board/keeper.cpp", "src/link/link.cpp"
EDGES_BETWEEN = """\
    software_lights::place_edges();
    software_servos::place_edges();
    link::hear(report);
"""

PLANTED = (
    Planted(
        "the loss of the signal goes unnoticed",
        ("src/logic/control.h", "if (channel_lost) {", "if (channel_lost && flags_ == 99) {"),
        "loss and return of the signal",
    ),
    Planted(
        "a winch runs on without a signal",
        (
            "src/behaviours/winch.h",
            "when_lost(State, const Memory&) const { return stopped; }",
            "when_lost(State, const Memory& memory) const { return memory.motor; }",
        ),
        "loss and return of one channel",
        runs=(37, 74, 111, 148),
    ),
    Planted(
        "one stray pulse is believed",
        ("src/logic/control.h", "count_ >= settle_pulses", "count_ + 9u >= settle_pulses"),
        "glitches",
    ),
    Planted(
        "the number of a round's frames is not looked at",
        ("src/logic/shared_channel.h", "good = pulses_ == WHOLE", "good = pulses_ != 0"),
        "odd rounds of a shared channel",
    ),
    Planted(
        "the number of a frame's places is not looked at",
        ("src/logic/sum_signal.h", "return places == PLACES;", "return places != 0;"),
        "slipped frames",
        "sum signal",
    ),
    Planted(
        "the CRC of a record is not looked at",
        (KEEPER, "word(seen.crc) == crc_of(seen) && newer", "newer"),
        "power cuts",
        runs=(38, 43),
    ),
    Planted(
        "the number of a record is compared as if it never wrapped",
        (KEEPER, "static_cast<int16_t>(number - newest) > 0", "number > newest"),
        "power cuts",
        runs=(1, 9),
    ),
    Planted(
        "a place behind the last one is written to",
        (KEEPER, "place + 1u < PLACES", "place < PLACES"),
        "power cuts",
        runs=(28,),
    ),
    Planted(
        "that a load leaves its place has to wait",
        (
            KEEPER,
            "if (corrects_places(kept)) {",
            "if (debt_ticks <= MOST_DEBT_TICKS && corrects_places(kept)) {",
        ),
        "power cuts",
        runs=(0, 603),
    ),
    Planted("the watchdog is not armed", (BOARD, "  wdt_enable(WDTO_120MS);\n", ""), "hangs"),
    Planted(
        "the watchdog is left on a slow time",
        (BOARD, "WDTO_120MS", "WDTO_250MS"),
        "hang at every tick of a winch's run",
    ),
    Planted(
        "a reset does not make outputs safe",
        ("src/board/early.cpp", "  wiring::make_outputs_safe();\n", ""),
        "resets and brown-outs",
    ),
    Planted(
        "a stuck end switch gives back what is spent",
        ("src/behaviours/winch_more.h", " && !turned_away", " && (!turned_away || turned_away)"),
        "end switch stuck or bouncing",
    ),
    Planted(
        "the jumper is not asked for",
        (LINK, "bench.start(jumper::is_fitted());", "bench.start(true);"),
        "jumper bouncing",
    ),
    Planted(
        "a force outlives its host",
        ("src/link/bench.h", "silent_ticks_ == SILENT_TICKS || ", ""),
        "host falls silent",
    ),
    Planted(
        "the link tells and hears without a look at the servos",
        (BOARD, EDGES_BETWEEN, "    link::hear(report);\n"),
        "serial line flooded",
    ),
    Planted(
        "the chip is deaf once noise has filled its ring",
        ("src/board/pulses_in.cpp", "    listen();\n  }\n}", "  }\n}"),
        "noise on the pins",
    ),
    Planted(
        "a count of bad lines wraps",
        (LINK, "if (bad_lines < 0xFFFF) {", "if (bad_lines != 0x1234u) {"),
        "counters before their wrap",
    ),
    Planted(
        "a pulse over the timer's turn is 10 us too long",
        ("src/board/clock.h", "later + TURN_HALF_US - ", "later + TURN_HALF_US + 20u - "),
        "edges where the timer turns",
    ),
)  # fmt: skip


def complaints(planted: Planted) -> Iterator[str]:
    """What its kind of fault has to complain of, run by run."""
    kind = BY_NAME[planted.kind]
    scene = Scene(planted.scene, planted.edit)
    try:
        short = [task.number for task in tasks([kind], 1, long_run=False)]
        for number in planted.runs or dict.fromkeys(short):
            yield from kind.run(scene, number, 1).complaints
    finally:
        scene.rung.close()
