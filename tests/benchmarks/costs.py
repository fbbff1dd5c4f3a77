"""What each thing adds to a sketch: `python -m tests.benchmarks.costs [--write]`.

Prints the table that DEVELOPERS.md holds, or writes it there; a test compares the two.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from gen.compile import compile_sketch
from gen.load import load_text
from gen.render import render
from gen.toolchain import MissingTool, Toolchain, find_toolchains
from host_tools.files import write_file, write_folder
from tests.benchmarks.cost_ships import Trio, ship_file
from tests.benchmarks.cost_trios import BASE, BEHAVIOURS, INPUTS, OPTIONS, OUTPUTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.load import Loaded

COMPILER = "5.4.0"
"""Debian's. Another version gives other numbers."""

COMMAND = "python -m tests.benchmarks.costs --write"
PAGE = Path(__file__).parents[2] / "DEVELOPERS.md"
BEGIN = f"<!-- costs: made by `{COMMAND}` -->\n"
END = "<!-- end of costs -->\n"

GROUPS: tuple[tuple[str, Sequence[Trio]], ...] = (
    ("behaviours", BEHAVIOURS),
    ("their options", OPTIONS),
    ("inputs", INPUTS),
    ("outputs", OUTPUTS),
)


@dataclass(frozen=True)
class Size:
    """What a sketch takes, or one thing of it, in bytes. RAM is that of variables."""

    flash_bytes: int
    ram_bytes: int

    def __sub__(self, other: Size) -> Size:
        return Size(self.flash_bytes - other.flash_bytes, self.ram_bytes - other.ram_bytes)


@dataclass(frozen=True)
class Cost:
    """What a thing adds: the first of its kind, and a further one."""

    first: Size
    further: Size


def cost(trio: Trio) -> Cost:
    """The cost of one thing. Raises MissingTool without the compiler."""
    without, one, two = map(size, trio.ships)
    return Cost(one - without, two - one)


@cache
def size(text: str) -> Size:
    """What the sketch of a ship file's text takes. Many trios begin with the same ship."""
    return size_of(load_text(text.encode(), "scales.yaml"))


def size_of(ship: Loaded) -> Size:
    """What a ship's sketch takes. Raises MissingTool without the compiler."""
    with tempfile.TemporaryDirectory(prefix="pinrail-costs-") as name:
        sketch = Path(name) / ship.plan.code
        write_folder(sketch, render(ship.plan, ship.board))
        built = compile_sketch(sketch, ship.board, _compiler(), Path(name) / "out")
    return Size(built.flash_bytes, built.ram_bytes)


def _compiler() -> Toolchain:
    for one in find_toolchains():
        if one.version == COMPILER:
            return one
    raise MissingTool(
        "no-compiler", f"avr-gcc {COMPILER} was not found", "on Debian: apt-get install gcc-avr"
    )


def table() -> str:
    """The table of DEVELOPERS.md. Takes about a hundred compilations."""
    base = size(ship_file(BASE))
    lines = [
        f"The ship that it is added to takes {base.flash_bytes} bytes of flash and"
        f" {base.ram_bytes} of RAM.",
        "",
        "| bytes | | flash: first | further | RAM: first | further |",
        "|---|---|--:|--:|--:|--:|",
    ]
    for group, trios in GROUPS:
        lines.append(f"| **{group}** | | | | | |")
        for trio in trios:
            of = cost(trio)
            flash_bytes = f"{of.first.flash_bytes} | {of.further.flash_bytes}"
            ram_bytes = f"{of.first.ram_bytes} | {of.further.ram_bytes}"
            lines.append(f"| `{trio.what}` | {trio.about} | {flash_bytes} | {ram_bytes} |")
    return "\n".join(lines) + "\n"


def written(page: str) -> str:
    """The table in the text of DEVELOPERS.md."""
    return page[page.index(BEGIN) + len(BEGIN) : page.index(END)]


def with_table(page: str, made: str) -> str:
    """The text of DEVELOPERS.md with another table."""
    return page[: page.index(BEGIN) + len(BEGIN)] + made + page[page.index(END) :]


def differences(page: str, made: str) -> str:
    """What the text of DEVELOPERS.md says otherwise than the table that was made now, and how to
    mend it; "" if nothing."""
    then, now = written(page).splitlines(), made.splitlines()
    if then == now:
        return ""
    gone = [f"- {line}" for line in then if line not in now]
    new = [f"+ {line}" for line in now if line not in then]
    order = [] if gone or new else ["  the same rows in another order"]
    return "\n".join(
        [f"{PAGE.name} is not what is measured:", *gone, *new, *order, f"run {COMMAND}"]
    )


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.costs", description=__doc__)
    parser.add_argument("--write", action="store_true", help=f"write it into {PAGE.name}")
    chosen = parser.parse_args()
    try:
        made = table()
    except MissingTool as missing:
        print(missing, file=sys.stderr)
        return 1
    if chosen.write:
        page = PAGE.read_text(encoding="utf-8")
        write_file(PAGE, with_table(page, made), replace=True)
    else:
        print(made, end="")
    return 0


if __name__ == "__main__":
    sys.exit(main())
