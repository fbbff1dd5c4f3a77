"""What the commands share that speak with a board: its port, its session, consent to move things,
and times."""

from __future__ import annotations

import sys
from argparse import ArgumentTypeError
from contextlib import contextmanager
from typing import TYPE_CHECKING

from gen.plan import TICK_US
from gen.units import TIME, Wrong, quantity
from host_tools.link.errors import LinkError

if TYPE_CHECKING:
    from argparse import ArgumentParser
    from collections.abc import Callable, Iterator, Sequence

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.link.session import Event, Session

TICKS_A_SECOND = 1_000_000 // TICK_US


def add_port(parser: ArgumentParser) -> None:
    """The option that names the board's port."""
    parser.add_argument(
        "--port",
        metavar="PORT",
        help="the board's port, such as /dev/ttyUSB0, COM3 or socket://127.0.0.1:7000 "
        "(default: the only one on USB)",
    )


def add_duration(parser: ArgumentParser, what: str) -> None:
    """The option that says how long."""
    parser.add_argument("--for", dest="lasts_s", type=seconds, metavar="TIME", help=what)


def seconds(text: str) -> float:
    """A time such as "10 s" or "5 min", in seconds."""
    try:
        size_us, _ = quantity(text, TIME)
    except Wrong as wrong:
        raise ArgumentTypeError(f"{text!r} {wrong.what} (expected {wrong.expected})") from None
    return float(size_us) / 1e6


@contextmanager
def session_on(named: str | None, listener: Callable[[Event], None]) -> Iterator[Session]:
    """A session with the board on the port that was named, or on the only one there is. Nothing has
    been said yet. Raises LinkError."""
    from host_tools.link.ports import SerialPort, chosen_port
    from host_tools.link.session import Session

    port = SerialPort(chosen_port(named))
    try:
        yield Session(port, listener)
    finally:
        port.close()


def is_simulated(port: str) -> bool:
    """Whether there is certainly nothing that can move."""
    from host_tools.link.ports import is_loopback

    return is_loopback(port)


def have_consent(report: Report, doing: str, movers: Sequence[str], *, yes: bool) -> None:
    """Says what will move and asks for a yes. Raises LinkError (`not-agreed`) without one."""
    if not movers:
        return
    report.say(
        f"CAUTION: {doing} moves {', '.join(movers)}. Winches and cranes pinch and pull, "
        "propellers cut:\n  keep hands, hair and cables clear, couplings apart, and the main "
        "switch in reach."
    )
    if yes:
        return
    if report.as_json or not sys.stdin.isatty():
        raise LinkError("not-agreed", f"{doing} was not agreed to")
    if input("Is everything clear? Then type yes: ").strip().lower() != "yes":
        raise LinkError("not-agreed", f"{doing} was not agreed to")


def movers(plan: Plan) -> list[str]:
    """The functions of a ship that can pinch, cut or drag."""
    return [function.name for function in plan.functions if function.moves]


def agree_to_play(report: Report, on: str, plan: Plan, *, yes: bool) -> None:
    """Before anything is played to a board: everything in it may move. Does nothing on a rung."""
    from host_tools.rungs import is_port

    if is_port(on) and not is_simulated(on):
        have_consent(report, "what is played", movers(plan), yes=yes)
