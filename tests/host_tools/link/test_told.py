"""What a board tells: read what was written, and refuse the rest."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.plan import force_of
from host_tools.link.told import (
    Answer,
    Tally,
    TickLine,
    Who,
    read_told,
    tally_words,
    tick_words,
)

WORD32 = st.integers(0, 2**32 - 1)
TICK_LINES = st.builds(
    TickLine,
    tick=st.integers(0, 0xFFFF),
    digest=WORD32,
    pulses=st.lists(st.tuples(st.integers(0, 15), st.integers(1, 0xFFFF)), max_size=9).map(tuple),
    readings=st.dictionaries(st.integers(0, 25), st.integers(0, 1023), max_size=4),
    lines=st.none() | st.integers(0, 2**40 - 1),
    servos_half_us=st.dictionaries(st.integers(0, 15), st.integers(0, 0xFFFF), max_size=4),
    levels=st.dictionaries(st.integers(0, 15), st.integers(0, 255), max_size=4),
    force=st.none() | st.just(0) | st.builds(force_of, st.integers(0, 30), st.integers(0, 15)),
)


def test_a_tick_by_hand() -> None:
    told = read_told("t 1F3A a1502.5 c1100 A512 x00A4 s0:1500 u1:128 w5:1 z1F2E3D4C")
    assert told == TickLine(
        tick=0x1F3A,
        digest=0x1F2E3D4C,
        pulses=((0, 3005), (2, 2200)),
        readings={0: 512},
        lines=0xA4,
        servos_half_us={0: 3000},
        levels={1: 128},
        force=force_of(5, 1),
    )
    assert read_told("t 0000 w- z00000000") == TickLine(0, 0, force=0)


def test_the_others_by_hand() -> None:
    assert read_told("n tick=123456 lost=1 longest=312 bad=2 dropped=3 late=4") == Tally(
        123456, 1, 312, 2, 3, 4
    )
    assert read_told("who ship Skerry Maid") == Who("ship", "Skerry Maid")
    assert read_told("who end") == Who("end", "")
    assert read_told("ok 0F") == Answer(15)
    assert read_told("no FF rule") == Answer(255, "rule")


@given(TICK_LINES)
def test_a_tick_is_read_as_it_was_written(line: TickLine) -> None:
    assert read_told(tick_words(line, 5)) == line


@given(st.builds(Tally, *[WORD32] * 6))
def test_a_tally_is_read_as_it_was_written(tally: Tally) -> None:
    assert read_told(tally_words(tally)) == tally


@pytest.mark.parametrize(
    "words",
    [
        "t 1F3A",
        "t 1F3 z00000000",
        "t 1F3A q1500 z00000000",
        "t 1F3A a1500.4 z00000000",
        "t 1F3A x0A4 z00000000",
        "t 1F3A x00 x00 z00000000",
        "t 1F3A z0000000",
        "n lost=1",
        "n tick",
        "no 0F",
        "ok 0F rule",
        "hello",
    ],
)
def test_what_no_board_tells(words: str) -> None:
    assert read_told(words) is None


@given(st.text())
def test_any_text(words: str) -> None:
    read_told(words)
