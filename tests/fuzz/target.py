"""One kind of input: how one is made, and what must hold when it is read."""

from __future__ import annotations

import random
import re
from typing import TYPE_CHECKING, Protocol

from gen.diagnostics import show
from tests.fuzz.guard import Fault

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.diagnostics import Problem


class Target(Protocol):
    """`name` is its word on the command line."""

    name: str

    def warm_up(self) -> None:
        """Loads what is loaded when it is first needed, and checks that good inputs are taken."""
        ...

    def make(self, draw: random.Random) -> bytes:
        """One input."""
        ...

    def read(self, content: bytes) -> str:
        """Reads it and tells in a word what came of it. Raises Fault, or whatever escapes."""
        ...


def drawn(seed: int, target: str, number: int) -> random.Random:
    """The draw of one input: the same one in every run and in every process."""
    return random.Random(f"{seed} {target} {number}")


_GRAMMAR = re.compile(
    r"[^\n]+?(:\d+:\d+)?: (error|warning)\[[a-z0-9-]+\]: [^\n]+(\n  hint: [^\n]+)?"
)
_BREAKS = re.compile(r"\r\n|\r|\n")


def check_told(
    problems: Iterable[Problem], content: bytes, breaks: re.Pattern[str] = _BREAKS
) -> str:
    """Every problem is told in the one grammar, at a place that the file has, and can be printed;
    gives the first one's code. Raises Fault."""
    text = content.decode(errors="replace").removeprefix("\ufeff")
    lines = breaks.split(text)
    first = ""
    for problem in problems:
        first = first or problem.code
        said = str(problem)
        if not _GRAMMAR.fullmatch(said):
            raise Fault(f"is told in another grammar: {said!r}")
        if not said.replace("\n  hint: ", "").isprintable():
            raise Fault(f"is told with what moves a cursor: {said!r}")
        if len(said) > 2000:
            raise Fault(f"is told at great length: {show(said)}")
        if problem.line == 0:
            continue
        if not 1 <= problem.line <= len(lines):
            raise Fault(f"is told of line {problem.line} of {len(lines)}: {said!r}")
        if not 1 <= problem.col <= len(lines[problem.line - 1]) + 1:
            raise Fault(f"is told of column {problem.col}, which is not there: {said!r}")
    if not first:
        raise Fault("is refused without a word")
    return first
