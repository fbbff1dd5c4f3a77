"""pinrail trial: does the ship do what its trials expect?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.pictures import draw_picture, picture_files
from host_tools.cli.ports import agree_to_play
from host_tools.cli.ships import add_rung_or_port, add_ship, open_ship, where
from host_tools.files import plain_stem, refuse_existing, write_file
from host_tools.formats.write_table import format_trace
from host_tools.rungs import open_rung
from host_tools.trial import answer, judge, marks, script

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Callable, Sequence

    from gen.read.steps import Trial
    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip
    from host_tools.record import Record
    from host_tools.trial import Failure, Script

EXAMPLE = "pinrail trial launch.yaml --on firmware"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_rung_or_port(parser)
    parser.add_argument(
        "--only", action="append", metavar="NAME", help="only this trial; may be given repeatedly"
    )
    parser.add_argument(
        "--plot", type=Path, metavar="DIR", help="draw each trial as SVG and PNG into this folder"
    )
    parser.add_argument(
        "--save", type=Path, metavar="DIR", help="write each trial's trace into this folder"
    )


def run(options: Namespace, report: Report) -> int:
    """Run every trial on one rung."""
    ship = open_ship(options.ship, report)
    agree_to_play(report, options.on, ship.plan, yes=options.yes)
    chosen = ship.trials_named(options.only) if options.only else list(ship.trials)
    names = _file_names(chosen)
    pictures = {name: options.plot / name for name in names.values()} if options.plot else {}
    traces = (
        {name: options.save / f"{name}.trace" for name in names.values()} if options.save else {}
    )
    refuse_existing(
        *traces.values(), *(file for stem in pictures.values() for file in picture_files(stem))
    )

    def keep(tried: Tried) -> None:
        name = names[tried.script.trial.name]
        if name in traces:
            write_file(traces[name], format_trace(tried.script.trace), replace=False)
        if name in pictures:
            above = marks(tried.script, tried.failures)
            draw_picture(ship.plan, tried.record, above, options.on, pictures[name])

    failed = try_all(ship, chosen, options.on, report, keep)
    if not chosen:
        report.say(f"{options.ship} has no trials: nothing was tried")
        return FELL_SHORT
    passed = len(chosen) - failed
    report.say(f"{passed} of {len(chosen)} trials passed on {where(options.on)}")
    return FELL_SHORT if failed else DONE


class Tried(NamedTuple):
    """One trial as it went."""

    script: Script
    record: Record
    failures: list[Failure]


def try_all(
    ship: OpenedShip,
    trials: Sequence[Trial],
    rung_name: str,
    report: Report,
    keep: Callable[[Tried], None] = lambda _: None,
) -> int:
    """Run `trials` on a rung, tell each in a line, and return how many fell short. `keep` is
    handed each one as it went.
    """
    results: list[dict[str, object]] = []
    report.data |= {"on": rung_name, "trials": results}
    with open_rung(rung_name, ship.plan, ship.board) as rung:
        for number, trial in enumerate(trials):
            report.progress(f"trial {number + 1} of {len(trials)}: {trial.name}")
            scripted = script(ship.plan, trial)
            record = answer(rung, scripted)
            failures = judge(ship.plan, scripted, record)
            keep(Tried(scripted, record, failures))
            nothing = not scripted.expectations
            results.append(
                {
                    "trial": trial.name,
                    "passed": not failures and not nothing,
                    "ticks": scripted.trace.ticks,
                    "failures": [failure.as_json(str(ship.path)) for failure in failures],
                }
            )
            report.say(f"{'short' if failures or nothing else 'ok   '} {trial.name}")
            for failure in failures:
                report.say(failure.told(str(ship.path)))
            if nothing:
                report.say(f"{ship.path}:{trial.source_line}: the trial expects nothing")
    return sum(not result["passed"] for result in results)


def _file_names(trials: Sequence[Trial]) -> dict[str, str]:
    """A file name for each trial, of letters and digits only, with a number where two are alike."""
    names: dict[str, str] = {}
    for trial in trials:
        plain = plain_stem(trial.name, "trial")
        alike = sum(name == plain or name.startswith(f"{plain}~") for name in names.values())
        names[trial.name] = f"{plain}~{alike + 1}" if alike else plain
    return names
