"""Boards on the bench in stepped time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.bench.local_port import LocalPort, Pins
from host_tools.bench.on_board import OnBoard
from host_tools.bench.radio import Radio
from host_tools.link.errors import LinkError
from host_tools.link.identity import BENCH_ON
from host_tools.link.simulated import sources
from host_tools.link.simulated.board import ModelBoard
from host_tools.opened import opened_file
from tests.host_tools.bench.benches import Clock, OnBench, starter

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from host_tools.bench.source import Source
    from host_tools.link.simulated.board import SimulatedBoard
    from host_tools.opened import OpenedShip


class Cable:
    """A board on a cable that can be pulled. While somebody waits for it, time goes on."""

    name = "/dev/ttyUSB0"
    speed = 1.0

    def __init__(self, clock: Clock, board: SimulatedBoard) -> None:
        self.clock = clock
        self.board = board
        self.pulled = False
        self._port: LocalPort | None = None

    def open(self) -> tuple[Cable, Callable[[], float]]:
        if self.pulled:
            raise LinkError("port-missing", "there is no port")
        self._port = LocalPort(self.board, self.clock, self._sleep, self.name)
        return self, self._port.now

    def read(self, wait_s: float) -> bytes:
        return self._plugged().read(wait_s)

    def write(self, data: bytes) -> None:
        self._plugged().write(data)

    def close(self) -> None:
        pass

    def _plugged(self) -> LocalPort:
        if self.pulled or self._port is None:
            raise LinkError("port-gone", "/dev/ttyUSB0 is gone", board_fell_short=True)
        return self._port

    def _sleep(self, seconds: float) -> None:
        self.clock.now += seconds


class Boards:
    """A bench with a board of `kind`; with a `radio` the page works its pins."""

    def __init__(
        self,
        *,
        radio: bool = False,
        receiver: bool = True,
        ship: str = "tender",
        runs: str = "",
        allowed: str = BENCH_ON,
        kind: type[ModelBoard] = ModelBoard,
        path: Path | None = None,
    ) -> None:
        self.radio = radio
        self.receives = sources.at_rest if receiver else sources.switched_off
        self.runs = starter(runs) if runs else path or starter(ship)
        self.allowed = allowed
        self.kind = kind
        self.bench = OnBench(path or starter(ship), self.open)

    def open(self, opened: OpenedShip, first_k: int, clock: Clock) -> Source:
        plan = opened.plan
        runs = opened_file(self.runs).plan
        pins = Pins(plan, Radio(plan)) if self.radio else None
        receives = pins.receives if pins else lambda: self.receives(runs)
        board = self.kind(runs, receives, bench=self.allowed)
        if pins:
            pins.board = board
        self.cable = Cable(clock, board)
        return OnBoard(
            plan,
            self.cable.open,
            clock,
            where=self.cable.name,
            file=opened.path.name,
            pins=pins,
            first_k=first_k,
        )
