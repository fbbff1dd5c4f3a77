"""Sum signals from raw edges. Their frames are those of published measurements of real ones: 22 ms
with separators of 400 us, 20 ms and 22.5 ms with 300 us."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.diagnostics import ShipError
from host_tools.learn.edges import parse_edges, read_edges
from host_tools.learn.finding import Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.learn import learn
from host_tools.learn.recording import Recording
from host_tools.learn.text import sections
from tests.radios.wire import SumWire

if TYPE_CHECKING:
    from pathlib import Path

    from host_tools.learn.learned import Learned


def learned(wire: SumWire, folder: Path) -> Learned:
    path = folder / "wire.vcd"
    path.write_text(wire.vcd())
    trace, sums = read_edges(path)
    return learn(Recording.of([trace], sums=sums))


@pytest.mark.parametrize("separator_high", [True, False])
@pytest.mark.parametrize(
    ("places", "frame_us", "separator_us"), [(7, 22_000, 400), (8, 20_000, 300), (8, 22_500, 300)]
)
def test_polarity_count_and_gap(
    tmp_path: Path, separator_high: bool, places: int, frame_us: float, separator_us: float
) -> None:
    wire = SumWire(
        1, places, frame_us=frame_us, separator_us=separator_us, separator_high=separator_high
    )
    found = learned(wire, tmp_path)
    (one,) = found.sums
    assert (one.places, one.falling) == (places, not separator_high)
    assert one.is_clear
    assert one.separator_us == pytest.approx(separator_us, abs=1)
    assert 2300 < one.gap_us < frame_us - places * 2016
    assert found.period_us == pytest.approx(frame_us, rel=1e-3)
    first = found.controls[0]
    assert first.name == "receiver 1"
    assert first.kind.kind in (Kind.KEY, Kind.STICK)
    assert [round(place / 2, -1) for place in first.kind.places] == [990, 1500, 2020]
    polarity = "" if separator_high else ", polarity: falling"
    assert f"gap: {one.gap_us} us{polarity}}}" in sections(found).text


def test_frames_that_lost_a_pulse_are_dropped_whole(tmp_path: Path) -> None:
    """In one real log 32 of 406 frames had lost one, and the rest stood on lower channels."""
    found = learned(SumWire(2, lost=32 / 406), tmp_path)
    (one,) = found.sums
    assert one.places == 8
    assert one.whole_share == pytest.approx(1 - 32 / 406, abs=0.03)
    others = [channel for channel in found.channels if not channel.name.endswith(" 1")]
    assert all(channel.said[1] - channel.said[0] < 20 for channel in others)


def test_too_many_lost_pulses_are_not_sure(tmp_path: Path) -> None:
    found = learned(SumWire(3, lost=0.63), tmp_path)
    assert [one.is_clear for one in found.sums] == [False]
    finding = next(one for one in found.findings if one.about == "receiver")
    assert finding.sure is Sure.NOT_SURE
    assert "sum signal" not in sections(found).text


@pytest.mark.parametrize(
    "text",
    [
        "",
        "$enddefinitions $end",
        "$timescale 1 us $end\n$var wire 1 ! a $end\n$enddefinitions $end\n#5\n1!\n#3\n0!\n",
        "$timescale 1 us $end\n$var wire 1 ! a $end\n$enddefinitions $end\n",
        "$timescale 1 s $end\n$var wire 1 ! a $end\n$enddefinitions $end\n#0\n1!\n#"
        + "9" * 18
        + "\n0!\n",
        "$timescale 1 us $end\n$var wire 1 ! a $end\n$enddefinitions $end\n#" + "9" * 5000,
        "$timescale 1 us $end\n$var wire 1 ! a $end\n$var wire 1 + a $end\n$enddefinitions $end\n"
        "#0\n1!\n1+\n#9\n0!\n0+\n",
    ],
)
def test_what_is_no_dump_is_told(tmp_path: Path, text: str) -> None:
    path = tmp_path / "no.vcd"
    path.write_text(text)
    with pytest.raises(ShipError) as raised:
        read_edges(path)
    (problem,) = raised.value.problems
    assert problem.code == ("trace-large" if "9" * 18 + "\n" in text else "not-a-trace")
    assert 1 <= problem.line <= text.count("\n") + 1


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("$var wire 1 ! a\x1b[31m $end", "2:22: error[not-a-trace]"),
        ("$comment näm 🚢 $end $var wire 1 ! ä $end", "2:37: error[not-a-trace]"),
        ("$var wire 1 ! " + "a" * 61 + " $end", "2:77: error[not-a-trace]"),
        ("".join(f"$var wire 1 {n} s{n} $end " for n in range(65)), "2:1536: error[trace-large]"),
        ("$var wire 1 ! a $end\n$enddefinitions $end\n#5\n#4", "5:1: error[not-a-trace]"),
        ("$var wire 1 ! a $end $enddefinitions $end #99999999999", "2:43: error[trace-large]"),
    ],
)
def test_a_dump_is_refused_where_it_is_too_much(words: str, told: str) -> None:
    with pytest.raises(ShipError) as raised:
        parse_edges(f"$timescale 1 us $end\n{words}".encode(), "a.vcd")
    assert str(raised.value).startswith(f"a.vcd:{told}")
