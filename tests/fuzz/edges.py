"""Value change dumps (VCD, IEEE 1364) of logic analysers: good ones damaged, and dumps drawn word by
word."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError
from host_tools.formats.write_table import format_trace
from host_tools.learn.edges import parse_edges
from host_tools.learn.learn import learn
from host_tools.learn.recording import CannotLearn, Recording
from host_tools.learn.text import sections
from tests.fuzz.guard import Fault, guarded
from tests.fuzz.mutate import NUMBERS, damaged
from tests.fuzz.ships import HOSTILE
from tests.fuzz.target import check_told

if TYPE_CHECKING:
    import random

FILE = "edges.vcd"
BREAK = re.compile("\n")


def _good(scale: str, names: tuple[str, ...], step: int) -> bytes:
    codes = "!\"#$%&'()*+"
    head = "".join(f"$var wire 1 {codes[n]} {name} $end\n" for n, name in enumerate(names))
    body = []
    for frame in range(120):
        for n in range(len(names)):
            begin = (frame * 20_000 + n * 2_000) * step
            width = (1_000 + 37 * frame % 900) * step
            body += [f"#{begin}\n1{codes[n]}\n", f"#{begin + width}\n0{codes[n]}\n"]
    first = "".join(f"0{codes[n]}\n" for n in range(len(names)))
    return (
        f"$date today $end\n$timescale {scale} $end\n$scope module top $end\n{head}$upscope $end\n"
        f"$enddefinitions $end\n#0\n$dumpvars\n{first}$end\n" + "".join(body)
    ).encode()


GOOD = [_good("1 us", ("D2", "D3"), 1), _good("10 ns", ("rudder",), 100), _good("1 ms", (), 1)]


class Edges:
    """Read, and written down as a trace."""

    name = "edges"

    def warm_up(self) -> None:
        for content in GOOD:
            self.read(content)

    def make(self, draw: random.Random) -> bytes:
        return damaged(draw.choice(GOOD), draw, GOOD) if draw.random() < 0.6 else _drawn(draw)

    def read(self, content: bytes) -> str:
        try:
            with guarded():
                trace, sums = parse_edges(content, FILE)
                text = "".join(format_trace(trace))
        except ShipError as error:
            return check_told(error.problems, content, BREAK)
        if not text.endswith("# end\n"):
            raise Fault("is written without an end")
        try:
            with guarded(deadline_s=3.0):
                learned = learn(Recording.of([trace], sums=sums))
                made = sections(learned).text
        except CannotLearn as no:
            return no.code
        if not made.replace("\n", "").isprintable():
            raise Fault(f"teaches {made!r}")
        return "good"


def _drawn(draw: random.Random) -> bytes:
    def now_and_then(right: str, wrong: tuple[str, ...]) -> str:
        return draw.choice(wrong) if draw.random() < 0.03 else right

    codes = ["!", "a", "ab", "#", "$"]
    words = [f"$timescale {now_and_then('1 us', (*NUMBERS, '100 s', '3 us', '1 fs'))} $end"]
    for _ in range(draw.choice((1, 1, 2, 4, 300))):
        name = now_and_then(draw.choice(("D2", "D3", "b")), HOSTILE)
        words.append(f"$var wire {now_and_then('1', NUMBERS)} {draw.choice(codes)} {name} $end")
    words.append(now_and_then("$enddefinitions $end", HOSTILE))
    now = 0
    for _ in range(draw.randint(0, 60)):
        now += draw.choice((0, 1, 700, 1500, 9_000, 10**6, 10**15))
        words.append(f"#{now_and_then(str(now), (*NUMBERS, '9' * 400, '9' * 5000))}")
        words.append(f"{draw.choice('0101xzb')}{draw.choice(codes)}")
    return draw.choice(("\n", " ", "\r\n")).join(words).encode("utf-8", "surrogatepass")
