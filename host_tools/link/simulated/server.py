"""A simulated board on a loopback TCP port, at real time or faster.

To connect is to plug in: the board starts anew, as one with a USB chip of its own does. One host at
a time; nobody but this computer can reach it.
"""

from __future__ import annotations

import contextlib
import select
import socket
import time
from typing import TYPE_CHECKING

from gen.plan import TICK_US
from host_tools.link.loopback import LOOPBACK, listening

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.link.simulated.board import SimulatedBoard

TICKS_AT_ONCE = 100
"""Ticks that are run before the wire is looked at again, where this computer is too slow."""

MOST_UNREAD = 1 << 16
"""What a host that reads nothing may leave waiting; then bytes are lost, as on a real wire."""

REST_S = 0.001


class Server:
    """Serves `board` until it is closed. Raises LinkError (`port-busy`) if `port` is taken."""

    def __init__(self, board: SimulatedBoard, *, port: int = 0, speed: float = 1.0) -> None:
        self._board = board
        self._speed = speed
        self._tick_s = TICK_US / 1e6 / speed
        self._listening = listening(port, 1)
        self.ticks = 0

    @property
    def url(self) -> str:
        """What to give as --port."""
        at = f"socket://{LOOPBACK}:{self._listening.getsockname()[1]}"
        return at if self._speed == 1.0 else f"{at}?speed={self._speed:g}"

    def close(self) -> None:
        """Lets go of the port and of the board."""
        self._listening.close()
        self._board.close()

    def serve(self, go_on: Callable[[], bool], told: Callable[[str], None]) -> None:
        """Serves one host after another as long as `go_on()`; `told` is told who comes and goes."""
        while go_on():
            ready, _, _ = select.select([self._listening], [], [], 0.1)
            if not ready:
                continue
            host, _ = self._listening.accept()
            with host:
                host.setblocking(False)
                host.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                told("plugged in")
                self._board.power_up("external")
                with contextlib.suppress(OSError):  # it went away: no more than that
                    self._run(host, go_on)
                told("unplugged")

    def _run(self, host: socket.socket, go_on: Callable[[], bool]) -> None:
        began = time.monotonic()
        done = 0
        unread = b""
        while go_on():
            due = int((time.monotonic() - began) / self._tick_s)
            if due == done:
                time.sleep(REST_S)
            for _ in range(min(due - done, TICKS_AT_ONCE)):
                unread += self._board.tick(self._arrived(host))
                done += 1
                self.ticks += 1
            with contextlib.suppress(BlockingIOError):
                unread = unread[host.send(unread) :] if unread else unread
            unread = unread[-MOST_UNREAD:]

    def _arrived(self, host: socket.socket) -> bytes:
        wants = self._board.wants()
        if not wants:
            return b""
        try:
            data = host.recv(wants)
        except BlockingIOError:
            return b""
        if not data:
            raise ConnectionResetError("the host has left")
        return data
