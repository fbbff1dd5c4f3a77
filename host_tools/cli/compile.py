"""pinrail compile: the program for the board, and what it takes of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gen.compile import ARDUINO_CORE
from gen.toolchain import MissingTool
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.building import built, fits
from host_tools.cli.ships import add_out, add_ship, open_ship, out_folder
from host_tools.files import check_ours, write_folder

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail compile launch.yaml --out build"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_out(parser, "the folder with the program")
    parser.add_argument(
        "--core",
        type=Path,
        nargs="?",
        const=ARDUINO_CORE,
        metavar="FOLDER",
        help=f"compile with the board makers' core, as their tool does (default: {ARDUINO_CORE})",
    )


def run(options: Namespace, report: Report) -> int:
    """Compile in a folder that is thrown away, and keep the program."""
    ship = open_ship(options.ship, report)
    folder = out_folder(options.out) / f"{ship.plan.code}-{ship.board.name}"
    check_ours(folder)
    if options.core and not (options.core / "cores").is_dir():
        raise MissingTool(
            "no-core",
            f"the board makers' core is not at {options.core}",
            "on Debian: apt-get install arduino-core-avr; or give its folder after --core",
        )
    with built(ship, report, options.core) as program:
        files = {path.name: path.read_bytes() for path in (program.elf, program.hex)}
        write_folder(folder, files)
        report.data["written"] = str(folder)
        it_fits = fits(ship, program, report)
        report.say(f"wrote {folder / program.hex.name}")
    return DONE if it_fits else FELL_SHORT
