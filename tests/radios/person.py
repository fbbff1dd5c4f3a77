"""A person with a radio who does what is said, in step with a simulated recorder board."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.boards import load_board
from gen.recorder import recorder
from host_tools.link.identity import BENCH_OFF
from host_tools.link.simulated.board import ModelBoard
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Iterator

FRAME_TICKS = 4
CHUNK_TICKS = 4
DWELL_TICKS = 200


class Person:
    """Listens to words. D2 carries a sprung key, D3 a switch with two positions; the receiver goes
    to 900 us on both once the transmitter is off."""

    def __init__(self, *, careless: bool = False, silent: bool = False) -> None:
        self.plan = recorder(load_board("nano"))
        self.now = 0
        self.moves = ""
        self.since = 0
        self.off = False
        self.careless = careless
        self.silent = silent
        self.board = ModelBoard(self.plan, self._pulses, bench=BENCH_OFF)

    def obey(self, words: str) -> None:
        """Do it, three seconds later, as people do."""
        self.since = self.now + 3 * 200 + 100
        self.moves = next((name for name in ("horn key", "lamp") if f"'{name}'" in words), "")
        if "off" in words:
            self.off = True

    def _widths(self) -> tuple[int, int]:
        if self.off and self.now >= self.since:
            return 1800, 1800
        key, lamp = 3006, 1990
        turn = (self.now - self.since) // DWELL_TICKS
        if self.moves and 0 <= turn < 8:
            if self.moves == "horn key" or self.careless:
                key = (4020, 3006, 1985, 3006)[turn % 4]
            if self.moves == "lamp":
                lamp = (4030, 1990)[turn % 2]
        return key, lamp

    def _pulses(self) -> Iterator[Trace]:
        names = tuple(one.name for one in self.plan.inputs)
        dice = np.random.default_rng(1)
        while True:
            table = np.zeros((1, len(names)), np.uint16)
            noise = dice.integers(-2, 3, 2)
            if not self.silent:
                table[0, :2] = np.array(self._widths()) + noise
            yield Trace(CHUNK_TICKS, names, np.array([1]), table)
            self.now += CHUNK_TICKS
