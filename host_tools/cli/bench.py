"""pinrail bench: a ship on one page of this computer; the ports; a board compared in the terminal;
a simulated board on a TCP port."""

from __future__ import annotations

from argparse import ArgumentTypeError
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.cli import DONE, WRONG_INPUT
from host_tools.cli.ports import add_duration, add_port
from host_tools.cli.ships import open_ship

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail bench launch.yaml"

SIMULATED = ("model", "firmware")


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "ship", type=Path, nargs="?", metavar="SHIP", help="the ship file; none: list the ports"
    )
    add_port(parser)
    parser.add_argument(
        "--simulated",
        choices=SIMULATED,
        help="no board: the model, or the sketch in a simulated chip (default without --port: "
        "model)",
    )
    add_duration(parser, "how long (default: until Ctrl-C)")
    page = parser.add_argument_group("the page (what it does unless told otherwise)")
    page.add_argument(
        "--no-open", action="store_true", help="tell the page's address, open no browser"
    )
    page.add_argument(
        "--http-port", type=int, default=0, metavar="N", help="serve it on this port (default: any)"
    )
    terminal = parser.add_argument_group("in the terminal instead")
    terminal.add_argument(
        "--no-page", action="store_true", help="compare the board with the model, here"
    )
    terminal.add_argument(
        "--out",
        type=Path,
        metavar="DIR",
        help="where to put the trace that shows a difference (default: the current folder)",
    )
    board = parser.add_argument_group("be a simulated board instead, for other commands' --port")
    board.add_argument("--serve", action="store_true", help="on a TCP port of this computer")
    board.add_argument(
        "--listen", type=int, default=0, metavar="N", help="on this TCP port (default: any)"
    )
    board.add_argument(
        "--receiver-off", action="store_true", help="no receiver: for what is played from here"
    )
    either = parser.add_argument_group("of a simulated ship")
    either.add_argument(
        "--speed", type=_speed, default=1.0, metavar="N", help="so many times as fast (default: 1)"
    )
    either.add_argument(
        "--thumbs", type=int, metavar="SEED", help="random thumbs (default: all at rest)"
    )
    either.add_argument("--no-jumper", action="store_true", help="the bench jumper is not fitted")


def _speed(text: str) -> float:
    with suppress(ValueError):
        if 0 < float(text) <= 1000:
            return float(text)
    raise ArgumentTypeError(f"{show(text)} is no speed (expected a number such as 10)")


def run(options: Namespace, report: Report) -> int:
    """List the ports, show a page, compare in the terminal, or be a board."""
    if options.ship is None:
        if options.simulated or options.port or options.serve or options.no_page:
            report.fault("usage", "bench needs a ship file here", "pinrail bench SHIP --port PORT")
            return WRONG_INPUT
        return _list(report)
    wrong = _at_odds(options)
    if wrong:
        report.fault("usage", *wrong)
        return WRONG_INPUT
    ship = open_ship(options.ship, report)
    if options.serve:
        from host_tools.cli.bench_board import serve

        return serve(options, ship, report)
    if options.no_page:
        from host_tools.cli.bench_compare import compare

        return compare(options, ship.plan, report)
    from host_tools.cli.bench_page import show_page

    return show_page(options, ship, report)


def _at_odds(options: Namespace) -> tuple[str, str] | None:
    """What was asked for that does not go together, and a hint."""
    if options.serve and (options.port or options.no_page):
        other = "--port" if options.port else "--no-page"
        return f"--serve is a board, {other} wants one", "pinrail bench SHIP --serve"
    if options.port and options.simulated:
        return "--port is a board, --simulated does without one", "leave one of them out"
    if options.no_page and options.simulated:
        hint = "`pinrail agree` compares; `--serve` makes a board for another terminal's --port"
        return "--no-page compares a board, --simulated does without one", hint
    if not options.serve and (options.listen or options.receiver_off):
        other = "--listen" if options.listen else "--receiver-off"
        return f"{other} is for --serve", "pinrail bench SHIP --serve"
    return None


def _list(report: Report) -> int:
    from host_tools.link.ports import found_ports

    found = found_ports()
    report.data["ports"] = [port._asdict() for port in found]
    for port in found:
        report.say(port.told())
    if not found:
        report.say("no serial port is there: is the board plugged in, with a cable that has data?")
    report.say("`pinrail bench SHIP` shows a ship without any board")
    return DONE
