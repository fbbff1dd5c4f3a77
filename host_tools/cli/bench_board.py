"""pinrail bench --serve: a simulated board on a TCP port of this computer."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from host_tools.cli import DONE
from host_tools.link.simulated import sources
from host_tools.link.simulated.board import ModelBoard, bench_of
from host_tools.link.simulated.server import Server
from host_tools.states import show_duration

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Iterator

    from host_tools.cli.report import Report
    from host_tools.link.simulated.board import SimulatedBoard
    from host_tools.opened import OpenedShip
    from host_tools.trace import Trace


def serve(options: Namespace, ship: OpenedShip, report: Report) -> int:
    """Is a board until the time is over or Ctrl-C."""
    server = Server(_board(options, ship), port=options.listen, speed=options.speed)
    kind = options.simulated or "model"
    report.data |= {"port": server.url, "simulated": kind, "speed": options.speed}
    report.say(f"a simulated board ({kind}) is at --port {server.url}; Ctrl-C ends it")
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
