"""The way that is told is the shortest: held against everything that can be done at all, tried on
the models themselves; and against what can be reckoned by hand."""

from __future__ import annotations

import pytest

from gen.load import load_text
from host_tools.compare.both import compare
from host_tools.compare.verdict import DIFFERENT, TO_THE_TICK
from tests.host_tools.compare.brute import soonest
from tests.host_tools.compare.prams import CASES, pram

DOWN, MIDDLE, UP = 2100, 3000, 3900
"""The middles of a key's positions as they are unless given, in half microseconds."""

SIDES = [0, DOWN, MIDDLE, UP]
QUICK = ("limit", "pause", "direction", "toggle", "pulse", "loss", "settle", "lost after")


@pytest.mark.parametrize("name", QUICK)
def test_nothing_is_shorter(name: str) -> None:
    functions, change = CASES[name]
    assert told(functions, change) == tried(functions, change)


def told(functions: str, change: tuple[str, str]) -> int:
    """The tick that is told."""
    found = compare(pram(functions), pram(functions, change))
    different = [one for one in found.verdicts if one.verdict == DIFFERENT]
    assert different
    assert all(one.shortest == TO_THE_TICK for one in different)
    return min(one.tick for one in different)


def tried(functions: str, change: tuple[str, str]) -> int:
    """The tick that is found by trying everything."""
    old, new = pram(functions).plan, pram(functions, change).plan
    found = soonest(old, new, [SIDES] * len(old.channels), most_frames=40)
    assert found is not None
    return found


SLOW = """\
ship: Lugger
board: nano
receiver: {channels: {left: D2}}
controls:
  left key: {from: left}
outputs:
  motor: {lower: D6, raise: D7}
functions:
  davit:
    winch: {lower: left key down, raise: left key up}
    drives: motor
    limit: {lower: LIMIT, raise: 9 s}
    pause: 20 ms
"""


def test_a_limit_of_eight_seconds_against_nine_is_told_to_the_tick() -> None:
    """Seen at rest after two pulses, down after two more: in tick 12; 1600 ticks later the old one
    has stopped."""
    old, new = (load_text(SLOW.replace("LIMIT", limit).encode()) for limit in ("8 s", "9 s"))
    (verdict,) = compare(old, new).verdicts
    assert (verdict.verdict, verdict.tick, verdict.shortest) == (DIFFERENT, 1612, TO_THE_TICK)
