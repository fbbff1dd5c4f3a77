"""Who may speak with the bench: pages that it served itself, in a browser on this computer, with
the token that was printed.

Any page of the web can send its reader's browser to 127.0.0.1. It cannot choose what the browser
then says in Host and Origin (RFC 9110 section 7.2, RFC 6454 section 7.3), nor read our token; so
these are checked in every request, and no request without them gets as far as the bench. The
headers that go out forbid everything that the page does not need (CSP Level 3, Fetch Metadata).
"""

from __future__ import annotations

import hmac
import secrets
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

PROTOCOL = "pinrail-bench"
"""The websocket's protocol; the token is offered beside it, for a browser's page can set no header
there, and an address would be kept in histories."""

TOKEN_BYTES = 32

FORBIDDEN = 403

CAMERAS = "camera=(), geolocation=(), microphone=(), serial=(), usb=(), payment=()"


def new_token() -> str:
    """One that nobody guesses; it is made anew for each run."""
    return secrets.token_urlsafe(TOKEN_BYTES)


class Guard:
    """Lets through what comes from our own page. `port` is where we listen."""

    def __init__(self, app: ASGIApp, *, port: int, token: str) -> None:
        self._app = app
        self._token = token
        self._hosts = (f"127.0.0.1:{port}", f"localhost:{port}")
        self._origins = tuple(f"http://{host}" for host in self._hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or one websocket."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        headers = _Headers(scope["headers"])
        is_stream = scope["type"] == "websocket"
        if not (self._is_ours(headers, is_stream) and (not is_stream or self._has_token(headers))):
            await _refuse(scope, send)
            return
        answered = with_headers(send, self._policy(headers.one("host")))
        await self._app(scope, receive, send if is_stream else answered)

    def _is_ours(self, headers: _Headers, is_stream: bool) -> bool:
        """Host must be ours; Origin too, and a websocket must have one; and where the browser says
        which site has asked, it must be this one or the person at it."""
        origin = headers.one("origin")
        site = headers.one("sec-fetch-site")
        return (
            headers.one("host") in self._hosts
            and (origin in self._origins or (not origin and not is_stream))
            and site in ("", "same-origin", "none")
        )

    def _has_token(self, headers: _Headers) -> bool:
        offered = [one.strip() for one in headers.one("sec-websocket-protocol").split(",")]
        good = [hmac.compare_digest(one.encode(), self._token.encode()) for one in offered]
        return PROTOCOL in offered and any(good)

    def _policy(self, host: str) -> dict[str, str]:
        return {
            "content-security-policy": "; ".join(
                (
                    "default-src 'none'",
                    "script-src 'self'",
                    "style-src 'self'",
                    "img-src 'self'",
                    "font-src 'self'",
                    f"connect-src 'self' ws://{host}",
                    "base-uri 'none'",
                    "form-action 'none'",
                    "frame-ancestors 'none'",
                    "require-trusted-types-for 'script'",
                    "trusted-types 'none'",
                )
            ),
            "cache-control": "no-store",
            "cross-origin-opener-policy": "same-origin",
            "cross-origin-resource-policy": "same-origin",
            "permissions-policy": CAMERAS,
            "referrer-policy": "no-referrer",
            "x-content-type-options": "nosniff",
            "x-frame-options": "DENY",
        }


class _Headers:
    """Of several of one name none counts: a request that says two things says nothing."""

    def __init__(self, raw: Iterable[tuple[bytes, bytes]]) -> None:
        self._all: dict[str, list[str]] = {}
        for name, value in raw:
            self._all.setdefault(name.decode("latin-1"), []).append(value.decode("latin-1"))

    def one(self, name: str) -> str:
        values = self._all.get(name, [])
        if len(values) > 1:
            return "\0"
        return values[0] if values else ""


def with_headers(send: Send, extra: dict[str, str]) -> Send:
    """The same, with these headers on every answer."""
    added = [(name.encode(), value.encode()) for name, value in extra.items()]

    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *added]
        await send(message)

    return told


async def _refuse(scope: Scope, send: Send) -> None:
    if scope["type"] == "websocket":
        # Before it is accepted this is an answer of 403 (ASGI websocket specification).
        await send({"type": "websocket.close", "code": 1008})
        return
    await send(
        {
            "type": "http.response.start",
            "status": FORBIDDEN,
            "headers": [
                (b"content-type", b"text/plain; charset=utf-8"),
                (b"cache-control", b"no-store"),
                (b"x-content-type-options", b"nosniff"),
            ],
        }
    )
    await send(
        {"type": "http.response.body", "body": b"Open the address that pinrail bench printed.\n"}
    )
