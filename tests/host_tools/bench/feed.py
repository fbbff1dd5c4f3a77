"""A bench made of paper: the page's files, and a stream that says what a test wants said.

For what a real bench shows seldom or never: a difference, a board that has gone, a thousand
functions. Everything else is tried with the real one.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page, Route, WebSocketRoute

FILES = Path(__file__).parents[3] / "templates" / "bench"
ORIGIN = "http://127.0.0.1:9"

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self' ws://127.0.0.1:9; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'"
)

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}

Json = dict[str, Any]


def control(name: str, channel: int, kind: str = "key", **more: object) -> Json:
    """A control of three positions, or one with a value."""
    bands = (("down", 1800, 2400), ("centre", 2800, 3200), ("up", 3600, 4200))
    proportional = kind in ("stick", "knob")
    return {
        "name": name,
        "kind": kind,
        "channel": channel,
        "slot": 0,
        "positions": [
            {"name": word, "low_half_us": low, "high_half_us": high} for word, low, high in bands
        ],
        "rest": 1,
        "sprung": kind in ("key", "stick"),
        "proportional": proportional,
        "ends_half_us": [2000, 4000],
        "colour": "",
        "line": 10 + channel,
    } | more


def function(name: str, line: int, states: tuple[str, ...] = ("off", "on"), **more: object) -> Json:
    """A function of a ship, switched by the first control."""
    return {
        "name": name,
        "behaviour": "toggle",
        "states": list(states),
        "forces": list(states),
        "controls": [0],
        "answers": [{"control": 0, "position": 2, "does": "on and off in turn"}],
        "lines": [line],
        "servos": [],
        "lights": [],
        "limits": "",
        "loss": "switches off",
        "gate": "",
        "moves": False,
        "caution": "",
        "may_stall": False,
        "line": 100 + line,
    } | more


def channel(name: str, controls: list[int]) -> Json:
    """A channel on a pin of its own."""
    return {
        "name": name,
        "pin": "D2",
        "sum": False,
        "slots": 0,
        "marker_half_us": None,
        "valid_half_us": [1600, 4400],
        "lost_below_half_us": 0,
        "lost_above_half_us": 65535,
        "lost_after_ticks": 60,
        "controls": controls,
        "line": 1,
    }


def relay(index: int, name: str, of: int | None) -> Json:
    """A relay on a pin."""
    return {
        "kind": "line",
        "index": index,
        "name": name,
        "pin": f"D{index}",
        "function": of,
        "range_half_us": None,
        "rest_half_us": None,
        "active_low": False,
        "line": 50 + index,
    }


def paper_ship(**more: object) -> Json:
    """Two controls, lights and a davit."""
    return {
        "t": "ship",
        "format": 1,
        "ship": "Paper Boat",
        "file": "paper.yaml",
        "plan": "0123456789ab",
        "board": "nano",
        "tick_ms": 5,
        "channels": [channel("deck keys", [0]), channel("lever", [1])],
        "controls": [control("deck key", 0), control("lever", 1, "stick")],
        "functions": [
            function("deck lights", 0),
            function(
                "davit",
                1,
                ("stopped", "lowering", "raising"),
                behaviour="winch",
                caution="A davit pinches.",
                moves=True,
                lines=[1, 2],
            ),
        ],
        "outputs": [relay(0, "relay 1", 0), relay(1, "lower", 1), relay(2, "raise", 1)],
        "sensors": [],
        "supplies": [],
        "no_currents": "",
        "rules": [],
        "trials": [
            {
                "name": "lights latch",
                "steps": ["press deck key up", "expect deck lights on"],
                "cuts_power": False,
                "line": 200,
            }
        ],
        "warnings": [],
        "cautions": ["Keep clear."],
    } | more


def paper_state(**more: object) -> Json:
    """Simulated firmware that agrees with the model."""
    able = ("move", "fault", "force", "trial", "stall", "sense", "restart")
    return {
        "t": "state",
        "source": "firmware",
        "where": "simulated firmware",
        "link": "up",
        "link_why": "",
        "board_plan": "0123456789ab",
        "plan_is_files": True,
        "board_ship": "Paper Boat",
        "agreement": {
            "compared_ticks": 1234,
            "differences": 0,
            "first": "",
            "waits": "",
            "starts": 1,
        },
        "signal": "all",
        "bench": {"allowed": True, "why": "", "inputs": True},
        "can": dict.fromkeys(able, True),
        "faults": {"lost": [], "noise_half_us": 0, "drop_percent": 0, "stalled": []},
        "recording": {"on": False, "ticks": 0, "from_power_up": False, "full": False},
        "seen_ticks": 0,
        "trial": None,
        "force": None,
        "file": {"state": "same", "problems": []},
        "pages": 1,
        "dropped": 0,
    } | more


class Feed:
    """What the page hears, and what it has asked for."""

    def __init__(self, page: Page, ship: Json | None = None, state: Json | None = None) -> None:
        self.page = page
        self.ship = ship or paper_ship()
        self.state = state or paper_state()
        self.asked: list[Json] = []
        self.answers: dict[str, Json] = {}
        self.until = 1
        self._number = 0
        self._way: WebSocketRoute | None = None
        page.route(f"{ORIGIN}/**", _file)
        page.route_web_socket("**/stream", self._connected)

    def open(self) -> None:
        """The page is there and shows the ship."""
        self.page.goto(f"{ORIGIN}/#paper")
        self.page.locator(".function").first.wait_for()

    def tell_state(self, **more: object) -> None:
        self.state |= more
        self._send(self.state)

    def tell(self, *rows: Json, now: Json | None = None, log: list[Any] | None = None) -> None:
        """Rows, each in a tick of its own, and what runs beside them."""
        numbered = [{"k": self.until + place, **row} for place, row in enumerate(rows)]
        self.until += len(rows)
        self._rows(numbered, whole=False, now=now or {}, log=log or [])

    def close(self) -> None:
        """The link is gone."""
        assert self._way is not None
        self._way.close(code=1001)

    def asked_for(self, what: str) -> list[Json]:
        return [one for one in self.asked if one["do"] == what]

    def wait_for(self, what: str, count: int = 1) -> list[Json]:
        """Until the page has asked for something so many times."""
        for _ in range(300):
            if len(self.asked_for(what)) >= count:
                break
            # What a socket brings is heard while the page is asked for something.
            self.page.wait_for_timeout(50)
        assert len(self.asked_for(what)) >= count, self.asked
        return self.asked_for(what)

    def _connected(self, way: WebSocketRoute) -> None:
        self._way = way
        self._number = 0
        way.on_message(self._heard)
        self._send(self.ship)
        self._send(self.state)
        ship = self.ship
        controls = [[index, one["rest"], 3000, 1] for index, one in enumerate(ship["controls"])]
        everything = {
            "k": self.until,
            "g": [[index, 1, 0] for index in range(len(ship["channels"]))],
            "c": controls,
            "f": [[index, 0] for index in range(len(ship["functions"]))],
            "x": [[one["index"], 0] for one in ship["outputs"] if one["kind"] == "line"],
            "w": [],
        }
        self.until += 1
        self._rows([everything], whole=True, now={}, log=[])

    def _heard(self, text: str | bytes) -> None:
        asked = json.loads(text)
        self.asked.append(asked)
        answer = {"t": "answer", "id": asked["id"], "ok": True}
        self._send(answer | self.answers.get(asked["do"], {}))

    def _rows(self, rows: list[Json], *, whole: bool, now: Json, log: list[Any]) -> None:
        head = {"t": "rows", "n": self._number, "whole": whole, "until": self.until, "sent_ms": 0}
        self._number += 1
        self._send({**head, "rows": rows, "now": now, "log": log})

    def _send(self, message: Json) -> None:
        assert self._way is not None
        self._way.send(json.dumps(message))


def _file(route: Route) -> None:
    name = route.request.url.removeprefix(ORIGIN).strip("/") or "index.html"
    file = FILES / name
    route.fulfill(
        body=file.read_bytes(),
        headers={"Content-Type": TYPES[file.suffix], "Content-Security-Policy": POLICY},
    )
