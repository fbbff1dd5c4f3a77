"""pinrail bench: a board on USB, or a simulated one, compared with the model while it runs."""

from __future__ import annotations

import time
from argparse import ArgumentTypeError
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import show
from host_tools.cli import DONE, FELL_SHORT, WRONG_INPUT
from host_tools.cli.ports import add_duration, add_port, session_on
from host_tools.cli.ships import add_out, open_ship
from host_tools.files import free_name, write_file
from host_tools.formats.write_table import format_trace
from host_tools.link.errors import LinkError
from host_tools.states import show_duration, show_time

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Callable, Iterator

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip
    from host_tools.link.live import Live
    from host_tools.link.session import Session
    from host_tools.link.simulated.board import SimulatedBoard
    from host_tools.trace import Trace

EXAMPLE = "pinrail bench launch.yaml --simulated model --thumbs 1 --for 1s"

SIMULATED = ("model", "firmware")
RECONNECT_S = 0.5


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "ship", type=Path, nargs="?", metavar="SHIP", help="the ship file; none: list the ports"
    )
    add_port(parser)
    add_duration(parser, "how long (default: until Ctrl-C)")
    add_out(parser, "the trace that shows a difference")
    simulated = parser.add_argument_group("a simulated board")
    simulated.add_argument(
        "--simulated",
        choices=SIMULATED,
        help="be the board: the model, or the sketch in a simulated chip",
    )
    simulated.add_argument(
        "--listen", type=int, default=0, metavar="N", help="on this TCP port (default: any)"
    )
    simulated.add_argument(
        "--speed", type=_speed, default=1.0, metavar="N", help="so many times as fast (default: 1)"
    )
    simulated.add_argument(
        "--thumbs", type=int, metavar="SEED", help="random thumbs (default: all at rest)"
    )
    simulated.add_argument(
        "--receiver-off", action="store_true", help="no receiver: for what is played from here"
    )
    simulated.add_argument(
        "--no-jumper", action="store_true", help="the bench jumper is not fitted"
    )


def _speed(text: str) -> float:
    with suppress(ValueError):
        if 0 < float(text) <= 1000:
            return float(text)
    raise ArgumentTypeError(f"{show(text)} is no speed (expected a number such as 10)")


def run(options: Namespace, report: Report) -> int:
    """List the ports, be a board, or compare one."""
    if options.ship is None:
        if options.simulated or options.port:
            report.fault("usage", "bench needs a ship file here", "pinrail bench SHIP --port PORT")
            return WRONG_INPUT
        return _list(report)
    ship = open_ship(options.ship, report)
    if options.simulated:
        return _serve(options, ship, report)
    return _compare(options, ship.plan, report)


def _list(report: Report) -> int:
    from host_tools.link.ports import found_ports

    found = found_ports()
    report.data["ports"] = [port._asdict() for port in found]
    for port in found:
        report.say(port.told())
    if not found:
        report.say("no serial port is there: is the board plugged in, with a cable that has data?")
    report.say("`pinrail bench SHIP --simulated model` makes a board without one")
    return DONE


def _serve(options: Namespace, ship: OpenedShip, report: Report) -> int:
    from host_tools.link.simulated.server import Server

    server = Server(_board(options, ship), port=options.listen, speed=options.speed)
    report.data |= {"port": server.url, "simulated": options.simulated, "speed": options.speed}
    report.say(f"a simulated board ({options.simulated}) is at --port {server.url}; Ctrl-C ends it")
    until = time.monotonic() + options.lasts_s if options.lasts_s is not None else None
    try:
        server.serve(lambda: until is None or time.monotonic() < until, report.say)
    except KeyboardInterrupt:
        report.say("ended by Ctrl-C")
    finally:
        server.close()
    report.data["ticks"] = server.ticks
    report.say(f"it ran {show_duration(server.ticks)}")
    return DONE


def _board(options: Namespace, ship: OpenedShip) -> SimulatedBoard:
    from host_tools.link.simulated import sources
    from host_tools.link.simulated.board import ModelBoard, bench_of

    plan = ship.plan

    def receives() -> Iterator[Trace]:
        if options.thumbs is not None:
            return sources.thumbs(plan, options.thumbs)
        return sources.switched_off(plan) if options.receiver_off else sources.at_rest(plan)

    if options.simulated == "firmware":
        from gen.render import render
        from host_tools.firmware import FirmwareRung
        from host_tools.link.simulated.chip_board import ChipBoard

        sketch = render(plan, ship.board)
        rung = FirmwareRung.of_sketch(plan, ship.board, sketch)
        return ChipBoard(rung, receives, jumper=not options.no_jumper)
    return ModelBoard(
        plan,
        receives,
        bench=bench_of(plan, jumper_fitted=not options.no_jumper),
    )


def _compare(options: Namespace, plan: Plan, report: Report) -> int:
    """Compares until the time is over, Ctrl-C or a difference; waits while the cable is out."""
    from host_tools.link.live import Live

    live = Live(plan)
    ends = time.monotonic() + options.lasts_s if options.lasts_s is not None else None

    def go_on() -> bool:
        return live.difference is None and (ends is None or time.monotonic() < ends)

    with suppress(KeyboardInterrupt):
        _compare_once(options, plan, live, report, go_on)
        while go_on():
            time.sleep(RECONNECT_S)
            try:
                _compare_once(options, plan, live, report, go_on)
            except LinkError as error:
                if not error.code.startswith("port-"):
                    raise
    return _tell(options, plan, live, report)


def _compare_once(
    options: Namespace, plan: Plan, live: Live, report: Report, go_on: Callable[[], bool]
) -> None:
    """From plugging in to unplugging. Raises LinkError when there is no board, or another one."""
    from host_tools.link.identity import check_plan
    from host_tools.link.stream import Stream

    restarted = False

    def start_anew() -> None:
        nonlocal restarted
        restarted = True
        live.start_anew()

    stream = Stream(live.take, start_anew)
    with session_on(options.port, stream.hear) as session:
        stream.dropped_here = lambda: session.dropped
        live.start_anew()
        identity = session.open()
        check_plan(identity, plan, str(options.ship))
        report.say(f"{identity.ship} on {session.port.name}, plan {identity.plan_id}")
        restarted = told = False
        live.begin(identity.kept)
        try:
            while go_on():
                session.run(0.2)
                if restarted:
                    restarted = False
                    live.begin(session.who().kept)
                if live.waits_for_start and not told:
                    report.say(f"{live.waits_for_start}: press its reset button to begin anew")
                told = bool(live.waits_for_start)
                report.progress(_progress(live, session))
        except LinkError as error:
            if error.code != "port-gone":
                raise
            report.say(f"{error.what}: plug it in again to go on")
        stream.finish()


def _progress(live: Live, session: Session) -> str:
    now = "" if not live.waits_for_start else f"; waiting for a restart: {live.waits_for_start}"
    lost = f", {session.dropped} lines lost" if session.dropped else ""
    return f"{live.compared:,} ticks compared, none differs{lost}{now}"


def _tell(options: Namespace, plan: Plan, live: Live, report: Report) -> int:
    report.data |= {
        "ticks": live.compared,
        "starts": live.starts,
        "interrupted": live.stopped,
        "agree": live.difference is None and live.compared > 0,
    }
    if live.difference is None:
        if not live.compared:
            why = live.waits_for_start or "it was not heard for long enough"
            report.say(f"nothing was compared: {why}")
            return FELL_SHORT
        report.say(
            f"board and model agree: {live.compared:,} ticks ({show_duration(live.compared)}) "
            f"from {live.starts} start{'s' * (live.starts != 1)}"
            + (f", {live.stopped} times lines were lost" if live.stopped else "")
        )
        return DONE
    found = live.difference
    path = free_name(options.out or Path(), f"{plan.code}-board-tick-{found.tick}", ".trace")
    write_file(path, format_trace(live.trace()), replace=False)
    report.data |= {
        "difference": {
            "tick": found.tick,
            "what": found.what,
            "model": found.model,
            "board": found.rung,
        },
        "trace": str(path),
    }
    report.say(
        f"board and model part in {found.what} at tick {found.tick}, {show_time(found.tick)}:\n"
        f"  model: {found.model}\n  board: {found.rung}\n"
        f"what the board had seen until then: {path}"
    )
    return FELL_SHORT
