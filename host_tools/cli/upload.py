"""pinrail upload: the ship's sketch into its board, and the board's word for it."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from gen.diagnostics import harmless
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.building import built, fits
from host_tools.cli.ports import add_port
from host_tools.cli.report import KEPT
from host_tools.cli.ships import add_ship, open_ship
from host_tools.link.errors import LinkError
from host_tools.link.ports import chosen_port
from host_tools.link.session import OPEN_S
from host_tools.upload.avrdude import find_avrdude
from host_tools.upload.loader_port import loader_port
from host_tools.upload.writing import CAUTION, Writing, check_board, who_runs

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip

RUNNING_S = 4.0
"""How long what runs on a board may take to say who it is, before the upload. Opening its port has
started its boot loader, which waits for one or two seconds."""

EXAMPLE = "pinrail upload launch.yaml --port /dev/ttyUSB0"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_port(parser)
    parser.add_argument(
        "--link",
        metavar="PORT",
        help="where the board is asked who it is, if that is another port: of a micro's D0 and D1",
    )


def run(options: Namespace, report: Report) -> int:
    """Compile, look who is there, write, and ask again."""
    ship = open_ship(options.ship, report)
    program = find_avrdude()
    say_aside(report, CAUTION)
    with built(ship, report) as sketch:
        if not fits(ship, sketch, report):
            return FELL_SHORT
        writing = Writing(ship.board, sketch.hex, report.progress)
        try:
            port = _port(options, ship, report)
            report.data["port"] = port
            writing.write(program, port)
            report.say(f"wrote and verified {sketch.flash_bytes} bytes at {port}")
            return _ask(options, ship, port, report)
        except KeyboardInterrupt:
            say_aside(report, f"pinrail: {writing.holds.value}")
            raise
        finally:
            report.data["holds"] = writing.holds.name.lower()


def say_aside(report: Report, text: str) -> None:
    """What a person must see, whoever reads the rest."""
    report.say("")
    print(harmless(text, KEPT), file=sys.stderr, flush=True)


def _port(options: Namespace, ship: OpenedShip, report: Report) -> str:
    """Where the boot loader will answer; what runs on the board must be of the same kind.

    Raises LinkError.
    """
    if ship.board.upload.touch:  # USB is the loader's there, and the link is elsewhere
        return loader_port(options.port, lambda text: say_aside(report, text))
    port = chosen_port(options.port)
    report.progress(f"asking what runs on the board at {port} ...")
    before = who_runs(port, RUNNING_S)
    check_board(ship.board, before)
    report.data["before"] = None if before is None else before.as_json()
    if before is not None:
        report.say(f"it replaces plan {before.plan_id} of {before.ship or 'a recorder'}")
    return port


def _ask(options: Namespace, ship: OpenedShip, port: str, report: Report) -> int:
    """Has the board say that it runs this plan. Raises LinkError if it does not."""
    report.data["board"] = None
    if options.link is None and ship.board.upload.touch:
        report.say("the board was not asked who it is: name the port on its D0 and D1 with --link")
        return DONE
    port = options.link or port
    report.progress(f"asking the board at {port} who it is ...")
    identity = who_runs(port, OPEN_S)
    if identity is None:
        raise LinkError(
            "port-silent",
            f"the sketch is written and verified, but at {port} no board says who it is",
            "Press the board's reset button and ask again: `pinrail identify`.",
            board_fell_short=True,
        )
    report.data["board"] = identity.as_json()
    if identity.plan_id != ship.plan.plan_id:
        raise LinkError(
            "other-plan",
            f"the sketch is written and verified, but the board at {port} says that it runs plan"
            f" {identity.plan_id} of {identity.ship or 'a recorder'}, not {ship.plan.plan_id}",
            board_fell_short=True,
        )
    report.say(f"the board says: {identity.told()[0]}")
    return DONE
