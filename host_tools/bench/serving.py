"""The bench with real time, a thread and a browser."""

from __future__ import annotations

import contextlib
import queue
import threading
import time
import webbrowser
from typing import TYPE_CHECKING

import uvicorn

from host_tools.bench.guard import new_token
from host_tools.bench.server import LONGEST_MESSAGE, application
from host_tools.link.loopback import LOOPBACK, listening

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.bench.bench import Bench
    from host_tools.bench.page import Page

BREATH_S = 0.002
"""Between two turns: less than half a tick."""


class Thread:
    """Turns the bench in a thread of its own; whoever else wants something of it has to ask."""

    def __init__(self, bench: Bench, failed: Callable[[], None] = lambda: None) -> None:
        self.fault: BaseException | None = None
        self._failed = failed
        self._bench = bench
        bench.breathe = self._do_work
        self._work: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._run, name="bench", daemon=True)

    def start(self) -> None:
        """Begins."""
        self._thread.start()

    def end(self) -> None:
        """Ends it, and lets go of the ship."""
        self._ended.set()
        self._thread.join()

    def call(self, work: Callable[[], None]) -> None:
        self._work.put(work)

    def join(self, page: Page, answer: Callable[[bool], None]) -> None:
        self.call(lambda: answer(self._bench.join(page)))

    def take(self, page: Page, text: str, answer: Callable[[bool], None]) -> None:
        self.call(lambda: answer(self._bench.take(page, text)))

    def leave(self, page: Page) -> None:
        self.call(lambda: self._bench.leave(page))

    def _do_work(self) -> None:
        with contextlib.suppress(queue.Empty):
            while not self._ended.is_set():
                self._work.get_nowait()()

    def _run(self) -> None:
        try:
            self._bench.start()
            while not self._ended.is_set():
                self._do_work()
                self._bench.turn()
                time.sleep(BREATH_S)
        except BaseException as fault:
            self.fault = fault
            self._failed()
        finally:
            self._bench.close()


class Serving:
    """A bench that is served on a port of this computer, for nobody but this computer."""

    def __init__(self, bench: Bench, *, port: int = 0) -> None:
        """Raises LinkError (`port-busy`) if the port is taken."""
        # A browser that is quicker than we are waits.
        self._listening = listening(port)
        self.port = int(self._listening.getsockname()[1])
        self.token = new_token()
        self._thread = Thread(bench, self.end)
        self._server = uvicorn.Server(
            uvicorn.Config(
                application(self._thread, port=self.port, token=self.token),
                log_config=None,
                access_log=False,
                server_header=False,
                date_header=False,
                lifespan="off",
                ws="websockets-sansio",
                ws_max_size=LONGEST_MESSAGE,
                ws_per_message_deflate=False,
                timeout_graceful_shutdown=1,
            )
        )

    @property
    def listening_on(self) -> str:
        """The address at which it can be reached."""
        return str(self._listening.getsockname()[0])

    @property
    def address(self) -> str:
        """What to open. The token stands behind the #, which a browser sends to nobody."""
        return f"http://{LOOPBACK}:{self.port}/#{self.token}"

    def serve(self, *, lasts_s: float | None = None, opens: bool = False) -> None:
        """Until Ctrl-C, or for so long."""
        self._thread.start()
        timer = None
        if lasts_s is not None:
            timer = threading.Timer(lasts_s, self.end)
            timer.start()
        if opens:
            webbrowser.open(self.address)
        try:
            self._server.run(sockets=[self._listening])
        finally:
            if timer is not None:
                timer.cancel()
            self._thread.end()
            self._listening.close()
        if self._thread.fault is not None:
            raise self._thread.fault

    def end(self) -> None:
        """Ends `serve`, from another thread."""
        self._server.should_exit = True
