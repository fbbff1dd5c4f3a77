"""The link, from both ends: what a board may say to this computer, and a host to a board."""

from __future__ import annotations

import select
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from gen.load import load
from host_tools.formats.outputs import beside_pulses
from host_tools.formats.write_table import format_trace
from host_tools.link.errors import LinkError
from host_tools.link.lines import MOST_FROM_BOARD, MOST_TO_BOARD, Receiver, line_of
from host_tools.link.live import Live
from host_tools.link.recorder import Recorder, names_for
from host_tools.link.session import Refused, Restarted, Session
from host_tools.link.simulated.board import ModelBoard
from host_tools.link.stream import Stream
from tests.fuzz.guard import ROOT, Fault, guarded
from tests.fuzz.mutate import NUMBERS, damaged
from tests.fuzz.ships import HOSTILE
from tests.gen.damage import compiled_hearer

if TYPE_CHECKING:
    import random

    from gen.plan import Plan
    from host_tools.link.session import Event

MAIN = Path(__file__).with_name("hearer.cpp")
SANITIZERS = ("-O1", "-g", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
LONG_TICKS = 100_000
HEARER_S = 20.0
"""Another process, on a computer that may be busy."""

SHIP = ROOT / "templates" / "ships" / "tender.yaml"

FROM_BOARD = (
    *(
        "who plan 3f0c9a51d2e7",
        "who ship Grey Wagtail",
        "who board nano",
        "who maker 1.0",
        "who bench on",
    ),
    *(
        "who input a D4",
        "who input b D5",
        "who reset cause=power power=1",
        "who kept 0a1b",
        "who end",
    ),
    *(
        "t 0000 a1500 b1502.5 A512 x00 s0:1500.5 u0:255 w1:1 z0000FFFF",
        "t 0001 z00000000",
        "t 00C8 x01",
    ),
    *(
        "n tick=200 lost=0 longest=900 bad=0 dropped=0 late=0",
        "n tick=400 lost=1",
        "ok 00",
        "no 01 order",
    ),
)
TO_BOARD = (
    *("who", "here", "bench on", "bench off", "p a1500 b1502.5", "p A512", "arm 3", "force 3 1", "free"),
    *("restart", "restart forget", "on", "p " + " ".join(f"{tag}1500" for tag in "abcdefg")),
)  # fmt: skip


def stream_of(words: tuple[str, ...], draw: random.Random, before: tuple[str, ...] = ()) -> bytes:
    """Lines with good numbers and CRCs, whose words are right, nearly right or nonsense, most often
    behind lines that are as they should be."""
    number = draw.randrange(256)
    made = []
    for said in before if draw.random() < 0.8 else ():
        number += 1
        made.append(line_of(number, _nearly(said, draw) if draw.random() < 0.02 else said))
    for _ in range(draw.randint(1, 12)):
        said = draw.choice(words)
        kind = draw.random()
        if kind < 0.3:
            said = _nearly(said, draw)
        elif kind < 0.5:
            said = draw.choice(
                (str(draw.randrange(2**32)), "t FFFF", f"n tick={draw.randrange(10**10)}")
            )
        elif kind < 0.6:
            said = damaged(said.encode(), draw, [one.encode() for one in words]).decode(
                errors="replace"
            )
        number += draw.random() > 0.05
        try:
            made.append(line_of(number, said))
        except (ValueError, UnicodeEncodeError):
            made.append(said.encode(errors="replace") + b"\n")
    content = b"".join(made)
    return damaged(content, draw, [content]) if draw.random() < 0.2 else content


def _nearly(said: str, draw: random.Random) -> str:
    """With one word exchanged, if that can stand in a line."""
    parts = said.split(" ")
    parts[draw.randrange(len(parts))] = draw.choice((*NUMBERS, *HOSTILE, "z" * 90, "a1500", "|"))
    made = " ".join(parts)
    return made if made.isprintable() and made == " ".join(made.split()) else said


class Played:
    """A port from which bytes come in pieces, until it is gone."""

    name = "played"
    speed = 1.0

    def __init__(self, content: bytes) -> None:
        self.now_s = 0.0
        self._pieces = [content[at : at + 97] for at in range(0, len(content), 97)]

    def clock(self) -> float:
        return self.now_s

    def read(self, wait_s: float) -> bytes:
        self.now_s += max(wait_s, 0.005)
        if not self._pieces:
            raise LinkError("port-gone", "played to its end", board_fell_short=True)
        return self._pieces.pop(0)

    def write(self, data: bytes) -> None:
        if len(data) > MOST_TO_BOARD + 1:
            raise Fault(f"has us send {data!r}")

    def close(self) -> None:
        pass


def _said_at_start(plan: Plan) -> list[tuple[str, ...]]:
    """What a board says at its start, is asked, answers and goes on to say; shortly, and for longer
    than a second."""
    board, heard = ModelBoard(plan, lambda: ()), Receiver(MOST_FROM_BOARD)
    told = board.tick(b"")
    lines = []
    for tick in range(230):
        told += board.tick(line_of(0, "who") if tick == 40 else b"")
    lines = [line.words for line in heard.feed(told)]
    return [tuple(lines[: len(lines) // 3]), tuple(lines)]


class FromBoard:
    """Heard by a session; recorded; compared with the model while it comes."""

    name = "from-board"

    def __init__(self) -> None:
        self.plan = load(SHIP).plan
        self.starts = _said_at_start(self.plan)

    def warm_up(self) -> None:
        for before in self.starts:
            self.read(b"".join(line_of(number, said) for number, said in enumerate(before)))

    def make(self, draw: random.Random) -> bytes:
        return stream_of(FROM_BOARD, draw, draw.choice(self.starts))

    def read(self, content: bytes) -> str:
        with guarded():
            return self._heard(content)

    def _heard(self, content: bytes) -> str:
        recorder, live = Recorder(), Live(self.plan)
        compared = Stream(live.take, live.start_anew)

        def hear(event: Event) -> None:
            recorder.stream.hear(event)
            compared.hear(event)
            if isinstance(event, Restarted):
                live.begin(b"")

        port = Played(content)
        session = Session(port, hear, port.clock)
        recorder.stream.dropped_here = compared.dropped_here = lambda: session.dropped
        came = "silent"
        try:
            identity = session.open()
            came = "known"
            _check_lines("\n".join(identity.told()))
            identity.as_json()
            session.ask("free")
            session.run(60.0)
        except (LinkError, Refused) as error:
            _check_lines(str(error))
        for part in recorder.finish():
            came = "recorded"
            if session.identity is not None:
                trace = part.recording.trace(names_for(session.identity, None), "fuzz")
                "".join(format_trace(trace))
            if part.recording.ticks < LONG_TICKS:  # of a day all outputs take their time
                format_trace(*beside_pulses(self.plan, part.recording.record(self.plan, "fuzz")))
        compared.finish()
        return "differs" if live.difference is not None else came


def _check_lines(said: str) -> None:
    if not said.replace("\n", "").isprintable():
        raise Fault(f"has us say {said!r}")


class ToBoard:
    """Heard by a simulated board, and by the sketch's own Hearer under the compiler's sanitizers."""

    name = "to-board"

    def __init__(self) -> None:
        self.plan = load(SHIP).plan
        self._folder = tempfile.TemporaryDirectory(prefix="pinrail-fuzz-")
        self._program = compiled_hearer(Path(self._folder.name), MAIN, *SANITIZERS)
        self._hearer = self._started()

    def warm_up(self) -> None:
        self.read(b"".join(line_of(number, said) for number, said in enumerate(TO_BOARD)))

    def make(self, draw: random.Random) -> bytes:
        return stream_of(TO_BOARD, draw)

    def read(self, content: bytes) -> str:
        with guarded():
            board = ModelBoard(self.plan, lambda: ())
            told = b""
            for at in range(0, len(content) + 100, 50):
                told += board.tick(content[at : at + 50])
        for line in told.split(b"\n"):
            if len(line) > MOST_FROM_BOARD:
                raise Fault(f"has a board say {line!r}")
        self._hear(content)
        return "refused" if b" no " in told else "heard"

    def close(self) -> None:
        """Ends the Hearer."""
        with self._hearer:
            self._hearer.kill()
        self._folder.cleanup()

    def _started(self) -> subprocess.Popen[bytes]:
        pipe = subprocess.PIPE
        return subprocess.Popen([self._program], stdin=pipe, stdout=pipe, stderr=pipe)

    def _hear(self, content: bytes) -> None:
        hearer = self._hearer
        assert hearer.stdin is not None
        assert hearer.stdout is not None
        assert hearer.stderr is not None
        try:
            hearer.stdin.write(len(content).to_bytes(4, "little") + content)
            hearer.stdin.flush()
            ready, _, _ = select.select([hearer.stdout], [], [], HEARER_S)
            if ready and hearer.stdout.read(1) == b".":
                return
        except BrokenPipeError:
            pass
        hearer.kill()
        with hearer:
            said = hearer.stderr.read().decode(errors="replace")
        self._hearer = self._started()
        raise Fault(f"the sketch's Hearer: {said[:500] or 'hangs'}")
