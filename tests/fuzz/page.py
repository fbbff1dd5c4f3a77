"""What a page of the bench may ask for: one message a line, with some of the ship's time between."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host_tools.bench.bench import Bench
from host_tools.bench.page import Page
from host_tools.bench.simulated import SimulatedModel
from host_tools.opened import opened_file
from tests.fuzz.guard import Fault, guarded
from tests.fuzz.mutate import damaged
from tests.fuzz.ships import HOSTILE
from tests.host_tools.bench.commands import COMMANDS

if TYPE_CHECKING:
    import random

SHIP = Path(__file__).with_name("bench.yaml")

ANSWER = '{"t":"answer"'

TURNS, TURN_S = 3, 0.005
"""Between two messages."""

GOOD = [
    b'{"do":"record","id":1,"on":true}\n{"do":"move","id":2,"control":0,"position":0}\n'
    b'{"do":"move","id":2,"control":0,"position":1}\n{"do":"record","id":3,"on":false}\n'
    b'{"do":"save_trace","id":4,"what":"minute","name":"a"}\n'
    b'{"do":"trial_text","id":5,"what":"recording","name":"b"}\n'
    b'{"do":"save_trial","id":6,"what":"recording","name":"b","sure":true}\n'
    b'{"do":"reload","id":7}\n{"do":"trial","id":8,"name":"lamp","sure":true}',
    b'{"do":"move","id":1,"control":0,"position":1}\n{"do":"stop","id":2}\n{"do":"keep","id":3}',
    b'{"do":"arm","id":7,"function":1,"sure":true}\n{"do":"force","id":8,"function":1,"state":1}\n'
    b'{"do":"signal","id":9,"lost":true,"channels":[0,1]}\n{"do":"restart","id":10,"forget":true}',
]
RIGHT: dict[str, tuple[Any, ...]] = {
    **dict.fromkeys(("lost", "forget", "on", "replace"), (True, False)),
    "sure": (True, True, False),
    "what": ("recording", "minute"),
    "name": ("lamp", "a", "b b", "", "x.trace", "é"),
    "channels": ([0], [0, 1], []),
    "half_us": (0, 3000, 2000, 4200),
}
ODD: tuple[Any, ...] = (
    *(-1, 0, 1, 2, 3, 99, 3000, 65535, 65536, 2**53, 2**64, -(2**70), 0.5, -0.0, 1e308),
    *(float("nan"), float("inf"), True, False, None, [], {}, [0], [0, 1], [-1], [[0]], [True]),
    *(
        "",
        "0",
        "deck lights",
        "recording",
        "minute",
        "recording",
        "minute",
        "a",
        "../x",
        "..",
        "a/b",
        "con",
        "x" * 5000,
    ),
    *HOSTILE,
)


class _Way:
    """Where a page's messages go: each must be what a websocket can carry."""

    def __init__(self) -> None:
        self.sent: list[str] = []

    def waiting(self) -> int:
        return 0

    def send(self, text: str) -> None:
        self.sent.append(text)


class FromPage:
    """Done by the bench of a simulated ship in stepped time; the page may go in the middle."""

    name = "from-page"

    def __init__(self) -> None:
        self._temporary = tempfile.TemporaryDirectory(prefix="pinrail-fuzz-")
        self.folder = Path(self._temporary.name)
        self.file = self.folder / SHIP.name
        self.file.write_bytes(SHIP.read_bytes())
        self.opened = opened_file(self.file)

    def warm_up(self) -> None:
        for content in GOOD:
            self.read(content)

    def make(self, draw: random.Random) -> bytes:
        if draw.random() < 0.1:
            return damaged(draw.choice(GOOD), draw, GOOD)
        lines = [_message(draw) for _ in range(draw.randint(1, 6))]
        content = b"\n".join(lines)
        return damaged(content, draw, GOOD) if draw.random() < 0.2 else content

    def read(self, content: bytes) -> str:
        with guarded(folder=self.folder):
            came = self._asked(content.decode(errors="replace"))
        for path in self.folder.iterdir():
            if path == self.file:
                continue
            if path.suffix != ".trace" or path.is_symlink():
                raise Fault(f"leaves {path.name!r} behind")
            path.unlink()
        if self.file.read_bytes() != SHIP.read_bytes():
            opened_file(self.file)  # which it must still be
            self.file.write_bytes(SHIP.read_bytes())
        return came

    def _asked(self, content: str) -> str:
        now_s = 100.0

        def clock() -> float:
            return now_s

        bench = Bench(
            self.opened,
            lambda opened, first: SimulatedModel(opened.plan, clock, first_k=first),
            clock,
            lambda: now_s * 1000,
        )
        bench.start()
        way, other = _Way(), _Way()
        page = Page(way)
        bench.join(page)
        bench.join(Page(other))
        came = "good"
        for text in content.split("\n")[:40]:
            before = len(way.sent)
            good = bench.take(page, text)
            answer = json.loads(next(one for one in way.sent[before:] if one.startswith(ANSWER)))
            if answer["t"] != "answer" or (answer["ok"] is not True and not answer["why"]):
                raise Fault(f"is answered {answer!r}")
            came = came if answer["ok"] else str(answer["code"])
            if not good and answer["code"] != "bad":
                raise Fault(f"counts as malformed and is answered {answer!r}")
            for _ in range(TURNS):
                now_s += TURN_S
                bench.turn()
        bench.leave(page)
        now_s += 0.1
        bench.turn()
        for sent in (*way.sent, *other.sent):
            sent.encode()
            json.loads(sent, parse_constant=_no_constant)
        bench.close()
        return came


def _no_constant(word: str) -> None:
    raise Fault(f"has the bench say {word}, which is no JSON (RFC 8259)")


def _message(draw: random.Random) -> bytes:
    do = draw.choice(list(COMMANDS))
    message: dict[str, Any] = {"do": do, "id": draw.randrange(100)}
    for key in COMMANDS[do]:
        kind = draw.random()
        if kind < 0.9:
            message[key] = draw.choice(RIGHT.get(key, (0, 1, 2)))
        elif kind < 0.97:
            message[key] = draw.choice(ODD)
    if draw.random() < 0.05:
        message[draw.choice(("do", "id", "extra", *HOSTILE))] = draw.choice(ODD)
    return json.dumps(message).encode()
