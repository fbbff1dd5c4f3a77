"""Nobody but our own page speaks with the bench: over real sockets."""

from __future__ import annotations

import http.client
import json
import re
import threading
import time
from typing import TYPE_CHECKING

import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from host_tools.bench.bench import Bench
from host_tools.bench.guard import PROTOCOL
from host_tools.bench.serving import Serving
from host_tools.bench.simulated import SimulatedModel
from host_tools.opened import opened_file
from tests.host_tools.bench.benches import starter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from websockets.sync.connection import Connection


@pytest.fixture(scope="module")
def serving() -> Iterator[Serving]:
    bench = Bench(
        opened_file(starter("tender")),
        lambda opened, first_k: SimulatedModel(opened.plan, time.monotonic, first_k=first_k),
        time.monotonic,
        lambda: time.time() * 1000,
    )
    made = Serving(bench)
    thread = threading.Thread(target=made.serve)
    thread.start()
    try:
        yield made
    finally:
        made.end()
        thread.join(30)
        assert not thread.is_alive()


def stream(
    serving: Serving,
    *,
    origin: str | None = "",
    host: str = "",
    protocols: tuple[str, ...] = (),
    **more: str,
) -> Connection:
    own = f"127.0.0.1:{serving.port}"
    return connect(
        f"ws://{host or own}/stream",
        sock=None,
        origin=f"http://{own}" if origin == "" else origin,  # type: ignore[arg-type]
        subprotocols=list(protocols or (PROTOCOL, serving.token)),  # type: ignore[arg-type]
        additional_headers=more,
        compression=None,
        open_timeout=30,
    )


def answer_to(socket: Connection, text: str) -> dict[str, object]:
    socket.send(text)
    while True:
        message: dict[str, object] = json.loads(socket.recv(30))
        if message["t"] == "answer":
            return message


def until_it_ends(socket: Connection) -> None:
    while True:
        socket.recv(30)


def get(serving: Serving, path: str = "/", **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=30)
    connection.putrequest("GET", path, skip_host=True)
    for name, value in {"Host": f"127.0.0.1:{serving.port}", **headers}.items():
        connection.putheader(name, value)
    connection.endheaders()
    response = connection.getresponse()
    response.read()
    connection.close()
    return response


def test_our_own_page_gets_in_and_is_told_the_ship(serving: Serving) -> None:
    with stream(serving) as socket:
        assert socket.subprotocol == PROTOCOL
        assert json.loads(socket.recv(30))["ship"] == "Skerry Maid"
    with stream(serving, origin=f"http://localhost:{serving.port}") as socket:
        assert json.loads(socket.recv(30))["t"] == "ship"


@pytest.mark.parametrize(
    "origin",
    [
        "http://evil.example",
        "null",
        "https://127.0.0.1",
        "http://127.0.0.1",
        "http://127.0.0.1:1",
        "http://127.0.0.1.evil.example",
        "file://",
        None,
    ],
)
def test_foreign_origin_is_refused(serving: Serving, origin: str | None) -> None:
    with pytest.raises(InvalidStatus) as refused:
        stream(serving, origin=origin)
    assert refused.value.response.status_code == 403


def test_token_is_needed_and_must_be_the_right_one(serving: Serving) -> None:
    for protocols in (
        (PROTOCOL,),
        (serving.token,),
        (PROTOCOL, serving.token[:-1]),
        (PROTOCOL, serving.token + "A"),
        (PROTOCOL, "A" * len(serving.token)),
    ):
        with pytest.raises(InvalidStatus) as refused:
            stream(serving, protocols=protocols)
        assert refused.value.response.status_code == 403


def test_name_that_was_bound_to_this_address_is_refused(serving: Serving) -> None:
    """DNS rebinding: the browser is here, but believes itself at another site."""
    for host in ("evil.example", f"evil.example:{serving.port}", "127.0.0.1", ""):
        assert get(serving, Host=host).status == 403
    assert get(serving, Origin="http://evil.example").status == 403
    assert get(serving, **{"Sec-Fetch-Site": "cross-site"}).status == 403
    assert get(serving, **{"Sec-Fetch-Site": "same-site"}).status == 403
    assert get(serving, "/nothing.js", **{"Sec-Fetch-Site": "same-origin"}).status == 404


def test_two_hosts_in_one_request_are_none(serving: Serving) -> None:
    connection = http.client.HTTPConnection("127.0.0.1", serving.port, timeout=30)
    connection.putrequest("GET", "/", skip_host=True)
    connection.putheader("Host", f"127.0.0.1:{serving.port}")
    connection.putheader("Host", "evil.example")
    connection.endheaders()
    response = connection.getresponse()
    response.read()
    connection.close()
    assert response.status in (400, 403)


def test_headers_forbid_what_the_page_does_not_need(serving: Serving) -> None:
    headers = get(serving).headers
    policy = dict(
        part.strip().partition(" ")[::2] for part in headers["Content-Security-Policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert policy["require-trusted-types-for"] == "'script'"
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert "http:" not in headers["Content-Security-Policy"]
    assert headers["Cache-Control"] == "no-store"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "no-referrer"
    assert headers["X-Frame-Options"] == "DENY"
    assert "Server" not in headers


def test_token_is_in_nothing_that_a_browser_sends_on(serving: Serving) -> None:
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/#[\w-]{43}", serving.address)


@pytest.mark.parametrize(
    "path",
    [
        "/../guide/README.md",
        "/..%2fguide%2fREADME.md",
        "/%2e%2e/ships/tender.yaml",
        "//etc/passwd",
        "/%00",
        "/index.html/..",
        "/C:/x.js",
        "/.pinrail.json",
    ],
)
def test_nothing_but_the_pages_files_is_served(serving: Serving, path: str) -> None:
    assert get(serving, path).status in (400, 404)


def test_bench_listens_on_this_computer_only(serving: Serving) -> None:
    address = serving.listening_on
    assert address == "127.0.0.1"


def test_message_that_is_too_long_ends_the_conversation(serving: Serving) -> None:
    with stream(serving) as socket:
        socket.send("x" * (16 * 1024 + 1))
        with pytest.raises(ConnectionClosed) as closed:
            until_it_ends(socket)
        assert closed.value.rcvd is None or closed.value.rcvd.code == 1009


def test_ten_malformed_messages_end_the_conversation(serving: Serving) -> None:
    with stream(serving) as socket:
        for _ in range(9):
            assert answer_to(socket, "nonsense")["code"] == "bad"
        socket.send("nonsense")
        with pytest.raises(ConnectionClosed) as closed:
            until_it_ends(socket)
        assert closed.value.rcvd is not None
        assert closed.value.rcvd.code == 1008


def test_bytes_are_no_message(serving: Serving) -> None:
    with stream(serving) as socket:
        socket.send(b"\x00\x01")
        with pytest.raises(ConnectionClosed):
            until_it_ends(socket)
    with stream(serving) as socket:  # and the bench goes on
        assert answer_to(socket, '{"do":"stop","id":1}')["ok"]


def test_force_ends_with_its_pages_socket(serving: Serving) -> None:
    with stream(serving) as looker:
        ship = json.loads(looker.recv(30))
        horn = [one["name"] for one in ship["functions"]].index("horn")
        with stream(serving) as socket:
            assert answer_to(socket, json.dumps({"do": "arm", "id": 1, "function": horn}))["ok"]
            told = answer_to(socket, json.dumps({"do": "force", "function": horn, "state": 1}))
            assert told["ok"]
        said: list[str] = []
        while not any("has ended" in text for text in said):
            message = json.loads(looker.recv(30))
            said += [text for _, _, text in message.get("log", ())]
        assert any("horn" in text and "has ended" in text for text in said)
