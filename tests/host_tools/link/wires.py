"""Ports for tests: a board in step with who listens, without a clock; and a real one over TCP."""

from __future__ import annotations

import contextlib
import threading
from typing import TYPE_CHECKING

from gen.plan import TICK_MS
from host_tools.link.errors import LinkError
from host_tools.link.session import Session
from host_tools.link.simulated.server import Server

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from host_tools.link.session import Event
    from host_tools.link.simulated.board import SimulatedBoard


class InStep:
    """A port to a simulated board for which time passes only while somebody waits. `spoil` may
    change what comes from the board, `unplug_at` is the tick at which the cable is pulled."""

    name = "in step"
    speed = 1.0

    def __init__(
        self,
        board: SimulatedBoard,
        *,
        spoil: Callable[[bytes], bytes] = lambda data: data,
        spoil_out: Callable[[bytes], bytes] = lambda data: data,
        unplug_at: int | None = None,
    ) -> None:
        self.board = board
        self.ticks = 0
        self.sent = b""
        self._out = b""
        self._spoil = spoil
        self._spoil_out = spoil_out
        self._unplug_at = unplug_at

    def clock(self) -> float:
        return self.ticks * TICK_MS / 1000

    def read(self, wait_s: float) -> bytes:
        data = b""
        for _ in range(max(1, round(wait_s * 1000 / TICK_MS))):
            if self._unplug_at is not None and self.ticks >= self._unplug_at:
                raise LinkError("port-gone", f"{self.name} is gone", board_fell_short=True)
            wants = self.board.wants()
            out, self._out = self._out[:wants], self._out[wants:]
            data += self.board.tick(out)
            self.ticks += 1
            if data:
                break
        return self._spoil(data)

    def write(self, data: bytes) -> None:
        self.sent += data
        self._out += self._spoil_out(data)

    def close(self) -> None:
        pass

    def session(self, listener: Callable[[Event], None] = lambda _: None) -> Session:
        return Session(self, listener, self.clock)


@contextlib.contextmanager
def served(
    board: SimulatedBoard,
    speed: float,
    pulled: threading.Event | None = None,
    number: int = 0,
) -> Iterator[str]:
    """A simulated board on a real loopback port, served by another thread until it is `pulled`."""
    server = Server(board, port=number, speed=speed)
    running = threading.Event()
    running.set()
    out = pulled or threading.Event()
    thread = threading.Thread(
        target=server.serve,
        args=(lambda: running.is_set() and not out.is_set(), lambda _: None),
    )
    thread.start()
    try:
        yield server.url
    finally:
        running.clear()
        thread.join()
        server.close()
