"""What is served: the page's files, as they lie in `templates/bench`, and one websocket."""

from __future__ import annotations

import asyncio
import contextlib
import re
from functools import partial
from typing import TYPE_CHECKING, Protocol

from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocketDisconnect

from gen.resources import resource
from host_tools.bench.asked import MOST_BYTES
from host_tools.bench.guard import PROTOCOL, Guard
from host_tools.bench.page import Page

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.requests import Request
    from starlette.types import ASGIApp
    from starlette.websockets import WebSocket

KINDS = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".woff2": "font/woff2",
}
"""What the page may be made of; a computer's own table of endings may hold anything."""

PAGES = "bench"
NAME = re.compile(r"(?:[a-z0-9_]+/)*[a-z0-9_][a-z0-9_.-]*", re.ASCII)
"""How files of the page are called: nothing that leads out of its folder."""

MOST_MALFORMED = 10
"""So many messages that no page of ours would send end a conversation."""

MALFORMED, TOO_MANY_PAGES = 1008, 1013


class Host(Protocol):
    """Who has the bench, in a thread of its own. Every call comes back at once."""

    def call(self, work: Callable[[], None]) -> None:
        """Has the bench's thread do this when it next can."""
        ...

    def join(self, page: Page, answer: Callable[[bool], None]) -> None:
        """A page more; `answer` is called there, with whether there was room."""
        ...

    def take(self, page: Page, text: str, answer: Callable[[bool], None]) -> None:
        """What a page asks for; `answer` is called there, with whether it was a message of ours."""
        ...

    def leave(self, page: Page) -> None:
        """A page less."""
        ...


def application(host: Host, *, port: int, token: str) -> ASGIApp:
    """The whole of what is served, behind its guard."""

    async def file(request: Request) -> Response:
        return _file(request.path_params.get("path", "index.html"))

    async def stream(socket: WebSocket) -> None:
        await _Stream(host, socket).run()

    routes = [
        WebSocketRoute("/stream", stream),
        Route("/", file, methods=["GET"]),
        Route("/{path:path}", file, methods=["GET"]),
    ]
    return Guard(Starlette(routes=routes), port=port, token=token)


def _file(path: str) -> Response:
    """A file of the page, read anew each time."""
    if NAME.fullmatch(path):
        wanted = resource("templates") / PAGES / path
        if wanted.suffix in KINDS and wanted.is_file():
            return Response(wanted.read_bytes(), headers={"content-type": KINDS[wanted.suffix]})
    return PlainTextResponse("There is no such page.\n", status_code=404)


class _Stream:
    """One page's socket: what the bench's thread sends goes through a queue."""

    def __init__(self, host: Host, socket: WebSocket) -> None:
        self._host = host
        self._socket = socket
        self._loop = asyncio.get_running_loop()
        self._queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._unsent = 0

    def waiting(self) -> int:
        return self._unsent

    def send(self, text: str) -> None:
        self._unsent += 1
        self._put(text)

    def _put(self, text: str | None) -> None:
        with contextlib.suppress(RuntimeError):  # the server has ended
            self._loop.call_soon_threadsafe(self._queue.put_nowait, text)

    async def run(self) -> None:
        await self._socket.accept(subprotocol=PROTOCOL)
        page = Page(self)
        if not await self._asked(partial(self._host.join, page)):
            await self._socket.close(TOO_MANY_PAGES)
            return
        sending = asyncio.create_task(self._send_all())
        try:
            await self._receive_all(page)
        finally:
            self._host.leave(page)
            sending.cancel()

    async def _receive_all(self, page: Page) -> None:
        malformed = 0
        with contextlib.suppress(WebSocketDisconnect, KeyError):  # KeyError: bytes, not text
            while malformed < MOST_MALFORMED:
                text = await self._socket.receive_text()
                good = await self._asked(partial(self._host.take, page, text))
                malformed += not good
            await self._socket.close(MALFORMED)

    async def _asked(self, ask: Callable[[Callable[[bool], None]], None]) -> bool:
        """Waits for the bench's thread: one page's commands are done one after another."""
        answered: asyncio.Future[bool] = self._loop.create_future()

        def answer(good: bool) -> None:
            with contextlib.suppress(RuntimeError):
                self._loop.call_soon_threadsafe(_set, answered, good)

        ask(answer)
        return await answered

    async def _send_all(self) -> None:
        with contextlib.suppress(WebSocketDisconnect, RuntimeError):
            while (text := await self._queue.get()) is not None:
                await self._socket.send_text(text)
                self._unsent -= 1


def _set(future: asyncio.Future[bool], good: bool) -> None:
    if not future.done():
        future.set_result(good)


LONGEST_MESSAGE = MOST_BYTES
"""What the websocket takes at most; a longer one ends it."""
