"""pinrail sketch: the folder that the board maker's tool opens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.render import render
from host_tools.cli import DONE
from host_tools.cli.ships import add_out, add_ship, open_ship, out_folder
from host_tools.files import write_folder

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail sketch launch.yaml --out sketches"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_out(parser, "the sketch's folder")


def run(options: Namespace, report: Report) -> int:
    """Render the sketch."""
    ship = open_ship(options.ship, report)
    folder = out_folder(options.out) / ship.plan.code
    files = render(ship.plan, ship.board)
    write_folder(folder, files)
    report.data |= {"written": str(folder), "files": sorted(files)}
    report.say(f"wrote {folder}, {len(files)} files: open {folder / f'{ship.plan.code}.ino'}")
    return DONE
