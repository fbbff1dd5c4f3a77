"""pinrail bench --no-page: a board compared with the model while it runs, in the terminal."""

from __future__ import annotations

import time
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ports import session_on
from host_tools.files import free_name, write_file
from host_tools.formats.write_table import format_trace
from host_tools.link.errors import LinkError
from host_tools.link.identity import check_plan
from host_tools.link.live import Live
from host_tools.link.stream import Stream
from host_tools.states import show_duration, show_time

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.link.session import Session

RECONNECT_S = 0.5


def compare(options: Namespace, plan: Plan, report: Report) -> int:
    """Compares until the time is over, Ctrl-C or a difference; waits while the cable is out."""
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
