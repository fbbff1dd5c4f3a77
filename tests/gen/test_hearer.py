"""What the board makes of the host's lines: the sketch's own text, compiled for this computer."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.firmware.link_lines import line
from tests.gen.damage import KINDS, compiled_hearer, damaged_stream, hear, judged

if TYPE_CHECKING:
    from pathlib import Path

ARM, BENCH, FORCE, FORGET, FREE, HERE, ON, PULSES, RESTART, WHO, UNKNOWN, BENCH_ON, FORGOTTEN = (
    range(13)
)


@pytest.fixture(scope="module")
def hearer(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return compiled_hearer(tmp_path_factory.mktemp("hearer"))


@pytest.mark.parametrize(
    ("words", "heard"),
    [
        ("who", f"{WHO}"),
        ("bench on", f"{BENCH_ON}"),
        ("bench", f"{BENCH}"),
        ("on", f"{ON}"),
        ("bench off", f"{UNKNOWN}"),
        ("bench on on", f"{UNKNOWN}"),
        ("p a1500 b1502.5 A512", f"{PULSES} a3000 b3005 A512"),
        ("p a32767.5", f"{PULSES} a65535"),
        ("p a32768", f"{UNKNOWN}"),
        ("p A65536", f"{UNKNOWN}"),
        ("p a1.25", f"{UNKNOWN}"),
        ("p q1500", f"{UNKNOWN}"),
        ("p a", f"{UNKNOWN}"),
        ("p a1500.", f"{UNKNOWN}"),
        ("p A1.5", f"{UNKNOWN}"),
        ("p " + " ".join(f"{tag}1500" for tag in "abcdefg"), f"{PULSES} "
         + " ".join(f"{tag}3000" for tag in "abcdefg")),
        ("p " + " ".join(f"{tag}1" for tag in "abcdefghi"),
         f"{UNKNOWN} a2 b2 c2 d2 e2 f2 g2 h2"),
        ("arm 3", f"{ARM} #3"),
        ("force 3 12", f"{FORCE} #3 #12"),
        ("free", f"{FREE}"),
        ("restart", f"{RESTART}"),
        ("restart forget", f"{FORGOTTEN}"),
        ("restart forget forget", f"{UNKNOWN}"),
        ("restart on", f"{UNKNOWN}"),
        ("forget", f"{FORGET}"),
        ("restarts", f"{UNKNOWN}"),
        ("wh", f"{UNKNOWN}"),
        ("here", f"{HERE}"),
        ("fre", f"{UNKNOWN}"),
        ("forc", f"{UNKNOWN}"),
        ("forgot", f"{UNKNOWN}"),
        ("frog", f"{UNKNOWN}"),
        ("aaa", f"{UNKNOWN}"),
        ("zzz", f"{UNKNOWN}"),
        ("hero", f"{UNKNOWN}"),
        ("pp", f"{UNKNOWN}"),
        ("restarting", f"{UNKNOWN}"),
        ("whowhowho", f"{UNKNOWN}"),
    ],
)  # fmt: skip
def test_lines_are_understood(hearer: Path, words: str, heard: str) -> None:
    assert hear(hearer, line(0xA7, words)) == [f"line A7 {heard}"]


def test_figures_of_hexadecimal_are_capitals(hearer: Path) -> None:
    good = line(0xAB, "here")
    assert hear(hearer, good.replace(b"AB", b"ab")) == ["bad"]
    small = next(one for n in range(256) if (one := line(n, "who"))[-5:-1].lower() != one[-5:-1])
    assert hear(hearer, small[:-5] + small[-5:].lower()) == ["bad"]


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_lines_are_not_obeyed_and_cost_one_line_more(hearer: Path, kind: str) -> None:
    count = 10_000
    assert judged(hear(hearer, damaged_stream(kind, count, 1)), count) == (0, 0)
