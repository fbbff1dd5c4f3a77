"""pinrail bench: the page."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from host_tools.bench.bench import Bench
from host_tools.bench.radio import Player
from host_tools.bench.serving import Serving
from host_tools.bench.simulated import SimulatedModel
from host_tools.cli import DONE
from host_tools.link.simulated import sources

if TYPE_CHECKING:
    from argparse import Namespace

    from host_tools.bench.source import Source
    from host_tools.cli.report import Report
    from host_tools.opened import OpenedShip


def show_page(options: Namespace, ship: OpenedShip, report: Report) -> int:
    """Serves the page until the time is over or Ctrl-C."""

    def open_source(opened: OpenedShip, first_k: int) -> Source:
        return _source(options, opened, first_k)

    bench = Bench(ship, open_source, time.monotonic, lambda: time.time() * 1000)
    serving = Serving(bench, port=options.http_port)
    report.data["address"] = serving.address
    report.say(f"{ship.plan.ship}, {bench.source.where}, is at {serving.address}")
    report.say("only this computer's browser can open it, with this very address; Ctrl-C ends it")
    serving.serve(lasts_s=options.lasts_s, opens=not options.no_open and not report.as_json)
    report.data["ticks"] = bench.source.until
    return DONE


def _source(options: Namespace, opened: OpenedShip, first_k: int) -> Source:
    plan = opened.plan
    made = SimulatedModel(plan, time.monotonic, speed=options.speed, first_k=first_k)
    if options.thumbs is not None:
        made.play(Player(sources.thumbs(plan, options.thumbs)))
    return made
