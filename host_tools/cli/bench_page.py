"""pinrail bench: the page."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from host_tools.bench.bench import Bench
from host_tools.bench.radio import Player, Radio
from host_tools.bench.serving import Serving
from host_tools.cli import DONE

if TYPE_CHECKING:
    from argparse import Namespace
    from collections.abc import Callable

    from host_tools.bench.source import Source
    from host_tools.cli.report import Report
    from host_tools.link.ports import Port
    from host_tools.opened import OpenedShip

    Opens = Callable[[OpenedShip, int], Source]


def show_page(options: Namespace, ship: OpenedShip, report: Report) -> int:
    """Serves the page until the time is over or Ctrl-C."""
    if options.port is not None:
        opens = _on_port(options.port)
    elif options.simulated == "firmware":
        report.progress("compiling the sketch ...")
        opens = _in_a_chip(jumper=not options.no_jumper)
    else:
        opens = _modelled(options.speed)
    bench = Bench(ship, opens, time.monotonic, lambda: time.time() * 1000)
    if options.thumbs is not None:
        from host_tools.link.simulated.sources import thumbs

        bench.source.play(Player(thumbs(ship.plan, options.thumbs)))
    serving = Serving(bench, port=options.http_port)
    report.data["address"] = serving.address
    report.say(f"{ship.plan.ship}, {bench.source.where}: {serving.address}")
    report.say("only this computer's browser can open it, with this very address; Ctrl-C ends it")
    serving.serve(lasts_s=options.lasts_s, opens=not options.no_open and not report.as_json)
    report.data["ticks"] = bench.source.until
    return DONE


def _modelled(speed: float) -> Opens:
    from host_tools.bench.simulated import SimulatedModel

    def opens(opened: OpenedShip, first_k: int) -> Source:
        return SimulatedModel(opened.plan, time.monotonic, speed=speed, first_k=first_k)

    return opens


def _in_a_chip(*, jumper: bool) -> Opens:
    """The sketch itself, compiled; raises MissingTool or RungUnavailable as it is opened."""
    from gen.render import render
    from host_tools.bench.local_port import LocalPort, Pins
    from host_tools.bench.on_board import OnBoard
    from host_tools.firmware import FirmwareRung
    from host_tools.link.simulated.chip_board import ChipBoard

    def opens(opened: OpenedShip, first_k: int) -> Source:
        plan = opened.plan
        rung = FirmwareRung.of_sketch(plan, opened.board, render(plan, opened.board))
        pins = Pins(plan, Radio(plan))
        pins.board = board = ChipBoard(rung, pins.receives, jumper=jumper)

        def open_port() -> tuple[Port, Callable[[], float]]:
            port = LocalPort(board, time.monotonic, time.sleep, "the simulated chip")
            return port, port.now

        return OnBoard(
            plan,
            open_port,
            time.monotonic,
            where="simulated firmware",
            file=opened.path.name,
            pins=pins,
            first_k=first_k,
        )

    return opens


def _on_port(named: str) -> Opens:
    """The board on a port, which is opened at once: a port that is not there is told here."""
    from host_tools.bench.on_board import OnBoard
    from host_tools.link.ports import SerialPort

    ports: list[Port] = [SerialPort(named)]

    def opens(opened: OpenedShip, first_k: int) -> Source:
        return OnBoard(
            opened.plan,
            lambda: (ports.pop() if ports else SerialPort(named), time.monotonic),
            time.monotonic,
            where=named,
            file=opened.path.name,
            first_k=first_k,
        )

    return opens
