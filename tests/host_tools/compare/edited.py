"""Random edits of the starters, and what is found of them."""

from __future__ import annotations

from functools import lru_cache
from itertools import count
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError
from gen.load import load_text
from host_tools.cli.ships import starters
from host_tools.compare.matching import match
from host_tools.compare.sameness import Sameness
from host_tools.compare.verdict import verdicts
from tests.host_tools.compare.edits import harmful, harmless

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from gen.plan import Plan
    from host_tools.compare.verdict import Verdict
    from tests.host_tools.compare.edits import Edit

NAMES = ("salvor", "launch", "pinnace", "cutter", "tender", "lightship")


def harmless_edit(seed: int) -> Edit:
    """The first of these that leaves a ship file without errors."""
    return _usable(seed, harmless)


def harmful_edit(seed: int) -> Edit:
    """The same of harmful ones."""
    return _usable(seed, harmful)


def _usable(seed: int, drawn: Callable[[str, int], Edit]) -> Edit:
    text = starters()[NAMES[seed % len(NAMES)]].read_text(encoding="utf-8")
    for attempt in count():
        edit = drawn(text, 1000 * seed + attempt)
        try:
            _plan(edit.new)
        except ShipError:
            continue
        return edit
    raise AssertionError


def compared(edit: Edit) -> Iterator[Verdict]:
    """What becomes of every function."""
    old, new = _plan(edit.old), _plan(edit.new)
    return verdicts(Sameness(old, new, match(old, new)))


@lru_cache(maxsize=32)
def _plan(text: str) -> Plan:
    return load_text(text.encode()).plan
