"""pinrail sketch: the folder that the board maker's tool opens."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.boards import board_names, load_board
from gen.recorder import recorder
from gen.render import render
from host_tools.cli import DONE, WRONG_INPUT
from host_tools.cli.ships import add_out, add_ship, open_ship, out_folder
from host_tools.files import write_folder

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from gen.boards import Board
    from gen.plan import Plan
    from host_tools.cli.report import Report

EXAMPLE = "pinrail sketch launch.yaml --out sketches"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser, needed=False)
    parser.add_argument(
        "--recorder",
        action="store_true",
        help="in place of a ship: drives nothing and tells what it hears on every pin",
    )
    parser.add_argument("--board", choices=board_names(), help="the recorder's board")
    add_out(parser, "the sketch's folder")


def run(options: Namespace, report: Report) -> int:
    """Render the sketch."""
    if wrong := _misuse(options):
        report.fault("usage", *wrong)
        return WRONG_INPUT
    plan, board = _meant(options, report)
    folder = out_folder(options.out) / plan.code
    files = render(plan, board)
    write_folder(folder, files)
    report.data |= {"written": str(folder), "files": sorted(files)}
    report.say(f"wrote {folder}, {len(files)} files: open {folder / f'{plan.code}.ino'}")
    if plan.is_recorder:
        pins = ", ".join(one.pin for one in plan.inputs)
        report.say(f"  it drives nothing and listens on {pins}")
    return DONE


def _misuse(options: Namespace) -> tuple[str, str] | None:
    """What does not go together, and what would."""
    if options.recorder and (options.ship is not None or options.board is None):
        return "a recorder has a board and no ship", "say --recorder --board nano"
    if not options.recorder and options.ship is None:
        return "no SHIP", "name a ship file, or say --recorder --board nano"
    if not options.recorder and options.board is not None:
        return "--board goes with --recorder", "a ship file names its own board"
    return None


def _meant(options: Namespace, report: Report) -> tuple[Plan, Board]:
    """A ship, or the recorder for a board."""
    if not options.recorder:
        ship = open_ship(options.ship, report)
        return ship.plan, ship.board
    board = load_board(options.board)
    return recorder(board), board
