"""Trace files: good ones damaged, and tables drawn cell by cell."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import ShipError
from gen.load import load
from host_tools.cli.replay import in_plan_order
from host_tools.formats.read_table import parse_table
from host_tools.formats.write_table import format_trace
from host_tools.model import Model
from tests.fuzz.guard import ROOT, Fault, guarded
from tests.fuzz.mutate import NUMBERS, damaged
from tests.fuzz.ships import HOSTILE
from tests.fuzz.target import check_told

if TYPE_CHECKING:
    import random

FILE = "evening.trace"
BREAK = re.compile("\n")
RUN_TICKS = 2000
"""What is short enough is run, too."""

GOOD = [
    b"# pinrail trace 1\n# ship: Grey Wagtail\n# plan: 3f0c9a51d2e7\n# tick: 5 ms\n# ticks: 400\n"
    b"# source: written by hand\n# kept: 0a1b\n"
    b"tick\trudder\tdeck key\t~\tlevel\tforce\t|\trelay 1\t|\tservo\t|\tlamp\n"
    b"0\t1500\t1500.5\t\t512\t0\t\t0\t\t1500\t\t0\n4\t\t1501\n4\t1502.0\t\t\t\t513\n9\t\t\t\t7\n# end\n",
    b"# pinrail trace 1\n# tick: 5 ms\n# ticks: 9\ntick\ta\n0\t1\n1\n8\t32767\n# end\n",
]


class Traces:
    """Read, written again and, where the ship has these channels, replayed on the model."""

    name = "traces"

    def __init__(self) -> None:
        ship = load(ROOT / "templates" / "ships" / "launch.yaml")
        self.plan = ship.plan
        names = "\t".join(one.name for one in ship.plan.inputs)
        rows = "".join(
            f"{tick}\t"
            + "\t".join("1500" if tick < 99 else "1900" for _ in ship.plan.inputs)
            + "\n"
            for tick in range(0, 400, 4)
        )
        self.ours = (
            f"# pinrail trace 1\n# tick: 5 ms\n# ticks: 400\ntick\t{names}\n{rows}# end\n".encode()
        )
        self.good = [*GOOD, self.ours, self.ours.replace(b"\n", b"\r\n")]

    def warm_up(self) -> None:
        for content in self.good:
            self.read(content)

    def make(self, draw: random.Random) -> bytes:
        if draw.random() < 0.7:
            return damaged(draw.choice(self.good), draw, self.good)
        return _drawn(draw)

    def read(self, content: bytes) -> str:
        try:
            with guarded():
                trace, driven = parse_table(content, FILE)
        except ShipError as error:
            return check_told(error.problems, content, BREAK)
        with guarded():
            again, driven_again = parse_table("".join(format_trace(trace, driven)).encode(), FILE)
        if again != trace or not np.array_equal(driven.lines, driven_again.lines):
            raise Fault("is not written as it was read")
        try:
            ordered = in_plan_order(trace, self.plan, FILE)
        except ShipError as error:
            return check_told(error.problems, content, BREAK)
        if ordered.ticks <= RUN_TICKS:
            with guarded():
                Model(self.plan).run(ordered)
        return "good"


def _drawn(draw: random.Random) -> bytes:
    """A header, columns and cells that are right most of the time."""

    def now_and_then(right: str, wrong: tuple[str, ...]) -> str:
        return draw.choice(wrong) if draw.random() < 0.02 else right

    names = [
        draw.choice(("a", "b", "c", "deck key", *HOSTILE[:40])) for _ in range(draw.randint(1, 4))
    ]
    if draw.random() < 0.2:
        names.insert(draw.randint(0, len(names)), "~")
    for _ in range(draw.choice((0, 0, 2, 3, 1))):
        names.insert(draw.randint(0, len(names)), "|")
    lines = [
        now_and_then("# pinrail trace 1", HOSTILE),
        f"# ship: {now_and_then('Grey Wagtail', HOSTILE)}",
        f"# tick: {now_and_then('5 ms', NUMBERS)}",
        f"# ticks: {now_and_then(str(draw.choice((1, 50, 400, 2**31))), NUMBERS)}",
        now_and_then("# source: drawn", HOSTILE),
        "\t".join(["tick", *names]),
    ]
    tick = 0
    for _ in range(draw.randint(0, 30)):
        tick += draw.randint(0, 9)
        cells = [now_and_then(str(draw.choice((1, 0, 1500, "", 1500.5))), NUMBERS) for _ in names]
        lines.append("\t".join([now_and_then(str(tick), NUMBERS), *cells]))
    lines.append(now_and_then("# end", HOSTILE))
    return ("\n".join(lines) + "\n").encode("utf-8", "surrogatepass")
