"""pinrail agree: two rungs, the same random pulses, every tick compared."""

from __future__ import annotations

import time
from argparse import ArgumentTypeError
from pathlib import Path
from typing import TYPE_CHECKING

from host_tools.agree import agree
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ships import add_out, add_rung, add_ship, open_ship
from host_tools.files import free_name, write_file
from host_tools.formats.write_table import format_trace
from host_tools.rungs import PROOF, RUNGS, open_rung
from host_tools.states import show_time

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail agree launch.yaml --on logic --ticks 1000000"
TICKS = 200_000


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_rung(parser, (*RUNGS[1:], PROOF))
    parser.add_argument(
        "--ticks", type=_positive, default=TICKS, metavar="N", help=f"how many (default: {TICKS})"
    )
    parser.add_argument(
        "--seed",
        type=_whole,
        default=1,
        metavar="S",
        help="another seed, other pulses (default: 1)",
    )
    add_out(parser, "the trace that shows a disagreement")


def run(options: Namespace, report: Report) -> int:
    """Drive both rungs until they part, or have done all ticks."""
    ship = open_ship(options.ship, report)
    began = time.monotonic()

    def progress(done: int) -> None:
        report.progress(f"{done:,} of {options.ticks:,} ticks compared, none differs")

    with open_rung(options.on, ship.plan, ship.board) as rung:
        report.progress(f"comparing the model with the {options.on} ...")
        result = agree(ship.plan, rung, options.ticks, options.seed, progress)
    rate = round(result.ticks / max(time.monotonic() - began, 1e-9))
    report.data |= {
        "on": options.on,
        "seed": options.seed,
        "ticks": result.ticks,
        "runs": result.runs,
        "ticks_per_second": rate,
        "agree": result.difference is None,
    }
    if result.difference is None or result.trace is None:
        report.say(
            f"model and {options.on} agree: {result.ticks:,} ticks in {result.runs} runs "
            f"from power-up, {rate:,} ticks a second, seed {options.seed}"
        )
        return DONE
    found = result.difference
    name = f"{ship.plan.code}-{options.on}-seed-{result.seed}"
    path = free_name(options.out or Path(), name, ".trace")
    write_file(path, format_trace(result.trace), replace=False)
    report.data |= {
        "difference": {
            "tick": found.tick,
            "what": found.what,
            "model": found.model,
            options.on: found.rung,
        },
        "trace": str(path),
    }
    report.say(
        f"model and {options.on} part in {found.what} at tick {found.tick}, "
        f"{show_time(found.tick)}:\n"
        f"  model:    {found.model}\n"
        f"  {options.on + ':':<9} {found.rung}\n"
        f"the shortest trace that shows it: {path}"
    )
    return FELL_SHORT


def _positive(text: str) -> int:
    number = _whole(text)
    if number < 1:
        raise ArgumentTypeError(f"{text!r} is less than 1")
    return number


def _whole(text: str) -> int:
    try:
        number = int(text)
    except ValueError:
        number = -1
    if number < 0:
        raise ArgumentTypeError(f"{text!r} is no whole number such as 1000000")
    return number
