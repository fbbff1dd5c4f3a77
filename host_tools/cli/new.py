"""pinrail new: a ship file to start from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from host_tools.cli import DONE
from host_tools.cli.ships import about, add_out, starter, starters
from host_tools.files import write_file

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail new launch --out my-ship"
FIRST = "launch"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "starter", nargs="?", default=FIRST, metavar="STARTER", help=f"which one (default: {FIRST})"
    )
    parser.add_argument("--list", action="store_true", help="list the starters")
    add_out(parser, "the ship file")


def run(options: Namespace, report: Report) -> int:
    """Write a starter, or list them all."""
    if options.list:
        known = {name: about(path) for name, path in starters().items()}
        report.data["starters"] = known
        width = max(map(len, known)) + 2
        for name, what in known.items():
            report.say(f"{name:<{width}}{what}")
        return DONE
    source = starter(options.starter)
    path: Path = (options.out or Path()) / source.name
    write_file(path, source.read_text(encoding="utf-8"), replace=False)
    report.data["written"] = str(path)
    report.say(f"wrote {path}: {about(source)}")
    report.say(f"next: open it in an editor, then run: pinrail check {path}")
    return DONE
