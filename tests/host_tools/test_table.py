from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gen.diagnostics import ShipError
from host_tools.formats.read_table import MAX_PROBLEMS, parse_table, read_trace
from host_tools.formats.table import LAST_LINE, UNCHANGED, Driven
from host_tools.formats.write_table import format_trace
from host_tools.trace import Trace

if TYPE_CHECKING:
    from pathlib import Path

WORDS = st.lists(
    st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1, max_size=8),
    max_size=4,
).map(" ".join)
NAMES = WORDS.filter(lambda name: name not in ("", "|"))


@st.composite
def traces(draw: st.DrawFn) -> tuple[Trace, Driven]:
    rows = draw(st.integers(0, 6))
    channels = draw(st.lists(NAMES, max_size=4, unique=True))
    at = sorted(draw(st.lists(st.integers(0, 10**9), min_size=rows, max_size=rows)))

    def cells(columns: int, values: st.SearchStrategy[int]) -> np.ndarray[tuple[int, int]]:
        row = st.lists(values, min_size=columns, max_size=columns)
        table = draw(st.lists(row, min_size=rows, max_size=rows))
        return np.array(table, np.uint16).reshape(rows, columns)

    widths = st.integers(0, UNCHANGED - 1)
    trace = Trace(
        ticks=draw(st.integers(max(at, default=-1) + 1, 2**31)),
        channels=tuple(channels),
        at=np.array(at, np.int64),
        widths_half_us=cells(len(channels), widths),
        ship=draw(WORDS),
        plan_id=draw(st.from_regex("[0-9a-f]{0,12}", fullmatch=True)),
        source=draw(WORDS),
    )
    lines = tuple(draw(st.lists(NAMES, max_size=3)))
    servos = tuple(draw(st.lists(NAMES, max_size=3)))
    lights = tuple(draw(st.lists(NAMES, max_size=3)))
    driven = Driven(
        lines,
        servos,
        cells(len(lines), st.sampled_from([0, 1, UNCHANGED])),
        cells(len(servos), st.integers(1, UNCHANGED)),
        lights,
        cells(len(lights), st.sampled_from([0, 1, 255, UNCHANGED])),
    )
    return trace, driven


@given(traces())
def test_what_is_written_is_read_again(both: tuple[Trace, Driven]) -> None:
    trace, driven = both
    text = "".join(format_trace(trace, driven))
    again, driven_again = parse_table(text.encode(), "a.trace")
    assert again == trace
    assert driven_again.line_names == driven.line_names
    assert driven_again.servo_names == driven.servo_names
    np.testing.assert_array_equal(driven_again.lines, driven.lines)
    np.testing.assert_array_equal(driven_again.servos, driven.servos)
    assert driven_again.light_names == driven.light_names
    np.testing.assert_array_equal(driven_again.lights, driven.lights)


@given(traces(), st.data())
def test_no_cut_goes_unseen(both: tuple[Trace, Driven], data: st.DataObject) -> None:
    content = "".join(format_trace(*both)).encode()
    kept = data.draw(st.integers(0, len(content) - 2))
    with pytest.raises(ShipError) as refused:
        parse_table(content[:kept], "a.trace")
    assert refused.value.problems[0].code in ("trace-cut", "not-a-trace")


GOOD = """\
# pinrail trace 1
# ship: Skerry Maid
# plan: 3f0c9a51d2e7
# tick: 5 ms
# ticks: 20
# source: written by hand
tick\trudder\tdeck key\t|\trelay 1\t|\tservo
0\t1500\t1500.5\t\t0\t\t1500
4\t\t1501
4\t1502.0
# end
"""


def test_the_example_reads_as_it_looks() -> None:
    trace, driven = parse_table(GOOD.encode(), "a.trace")
    assert (trace.ship, trace.plan_id, trace.ticks) == ("Skerry Maid", "3f0c9a51d2e7", 20)
    assert trace.channels == ("rudder", "deck key")
    assert trace.at.tolist() == [0, 4, 4]
    assert trace.widths_half_us.tolist() == [[3000, 3001], [0, 3002], [3004, 0]]
    assert driven.lines.tolist() == [[0], [UNCHANGED], [UNCHANGED]]
    assert driven.servos.tolist() == [[3000], [UNCHANGED], [UNCHANGED]]


def test_line_ends_of_other_systems_and_a_byte_order_mark_do_no_harm() -> None:
    other = b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode()
    assert parse_table(other, "a.trace")[0] == parse_table(GOOD.encode(), "a.trace")[0]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("trace 1", "trace 2"), "1:1: error[not-a-trace]"),
        (("# tick: 5 ms", "# tick: 4 ms"), "4:8: error[trace-header]"),
        (("# ticks: 20\n", ""), "6:1: error[trace-header]"),
        (("# source", "# ticks"), "6:1: error[trace-header]"),
        (("tick\trudder", "time\trudder"), "7:1: error[trace-header]"),
        (("tick\trudder", "tick\tdeck key"), "7:1: error[trace-header]"),
        (("1500.5", "1500.7"), "8:8: error[trace-cell]"),
        (("1500.5", "-5"), "8:8: error[trace-cell]"),
        (("1500.5", "0"), "8:8: error[trace-cell]"),
        (("1500.5", "32767.5"), "8:8: error[trace-cell]"),
        (("1500.5", "15½"), "8:8: error[trace-cell]"),
        (("\t\t0\t\t1500", "\t\t2\t\t1500"), "8:16: error[trace-cell]"),
        (("\t\t0\t\t1500", "\t7\t0\t\t1500"), "8:15: error[trace-cell]"),
        (("\t\t0\t\t1500", "\t\t0\t\t1500\t9"), "8:24: error[trace-cell]"),
        (("\n4\t\t1501", "\n\t\t1501"), "9:1: error[trace-cell]"),
        (("\n4\t1502.0", "\n3\t1502.0"), "10:1: error[trace-cell]"),
        (("\n4\t1502.0", "\n20\t1502.0"), "10:1: error[trace-cell]"),
        (("# end\n", ""), "11:1: error[trace-cut]"),
        (("\t1502.0\n# end\n", "\t15"), "10:5: error[trace-cut]"),
    ],
)
def test_each_mistake_is_told_with_its_place(change: tuple[str, str], told: str) -> None:
    broken = GOOD.replace(*change)
    assert broken != GOOD
    with pytest.raises(ShipError) as refused:
        parse_table(broken.encode(), "a.trace")
    assert str(refused.value).startswith(f"a.trace:{told}")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("deck key", "däck 🚢 key"), "8:8: error[trace-cell]: column 'däck 🚢 key'"),
        (("# ship: Skerry Maid", "# ship: \x1b[31m"), "2:9: error[trace-header]"),
        (("rudder", "rud\u202eder"), "7:9: error[trace-header]"),
        (("rudder", " rudder"), "7:1: error[trace-header]"),
        (("rudder", "\t".join(map(str, range(256)))), "7:1: error[trace-large]"),
        (("rudder", "r" * 20_000), "7:1: error[trace-large]"),
        (("# source: written by hand", "# kept: " + "00" * 4097), "6:8: error[trace-header]"),
        (("0\t1500\t", "é\t1500\t"), "8:1: error[trace-cell]"),
        (("\t1500\t1500.5", "\té\t1500.5x"), "8:5: error[trace-cell]"),
    ],
)
def test_places_are_counted_in_characters_and_sizes_are_bounded(
    change: tuple[str, str], told: str
) -> None:
    broken = GOOD.replace(*change).replace("1500.5", "1500.7")
    with pytest.raises(ShipError) as refused:
        parse_table(broken.encode(), "a.trace")
    assert f"a.trace:{told}" in str(refused.value)


def test_too_many_cells_are_refused_before_there_is_room_for_them(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr("host_tools.formats.read_table.MAX_CELLS", 20)
    with pytest.raises(ShipError, match=r"8:1: error\[trace-large\].*3 rows of 7"):
        parse_table(GOOD.encode(), "a.trace")
    monkeypatch.setattr("host_tools.formats.read_table.MAX_BYTES", 99)
    (tmp_path / "a.trace").write_text(GOOD, encoding="utf-8")
    with pytest.raises(ShipError, match=r"a\.trace: error\[trace-large\]"):
        read_trace(tmp_path / "a.trace")


def test_odd_spaces_in_a_header_are_no_matter() -> None:
    trace, _ = parse_table(GOOD.replace("Skerry Maid", " Skerry  \tMaid ").encode(), "a.trace")
    assert trace.ship == "Skerry Maid"


def test_every_bad_cell_is_told_but_not_without_end() -> None:
    rows = "".join(f"{tick}\tx\n" for tick in range(5, 100))
    with pytest.raises(ShipError) as refused:
        parse_table(GOOD.replace(LAST_LINE, rows + LAST_LINE).encode(), "a.trace")
    assert [problem.line for problem in refused.value.problems] == list(
        range(11, 11 + MAX_PROBLEMS)
    )


def test_a_file_that_is_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(ShipError, match=r"error\[cannot-read\]"):
        read_trace(tmp_path / "missing.trace")
    with pytest.raises(ShipError, match=r"error\[not-a-trace\]"):
        parse_table(b"\xff\xfe\x00\n", "a.trace")


def test_a_block_ends_between_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("host_tools.formats.read_table.BLOCK_BYTES", 7)
    monkeypatch.setattr("host_tools.formats.write_table.BLOCK_ROWS", 2)
    trace, _ = parse_table(GOOD.encode(), "a.trace")
    assert trace.widths_half_us.tolist() == [[3000, 3001], [0, 3002], [3004, 0]]
    assert parse_table("".join(format_trace(trace)).encode(), "b.trace")[0] == trace


FORCED = """\
# pinrail trace 1
# tick: 5 ms
# ticks: 20
tick\trudder\t~\tlevel\tforce\t|\trelay 1\t|\tservo
0\t1500\t\t1023\t0
4\t\t\t\t514
# end
"""


def test_what_is_forced_stands_behind_the_sensors() -> None:
    trace, _ = parse_table(FORCED.encode(), "a.trace")
    assert trace.sensors == ("level", "force")
    assert trace.readings.tolist() == [[1023, 0], [UNCHANGED, 514]]
    assert parse_table("".join(format_trace(trace)).encode(), "b.trace")[0] == trace


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("514", "65535"), "6:6: error[trace-cell]: column 'force'"),
        (("514", "1.5"), "6:6: error[trace-cell]: column 'force'"),
        (("1023", "1024"), "5:9: error[trace-cell]: column 'level'"),
    ],
)
def test_a_force_that_cannot_be(change: tuple[str, str], told: str) -> None:
    broken = FORCED.replace(*change)
    with pytest.raises(ShipError) as refused:
        parse_table(broken.encode(), "a.trace")
    assert str(refused.value).startswith(f"a.trace:{told}")


@pytest.mark.parametrize("name", ["", "|", "a\tb", "a\n", " a"])
def test_a_name_that_breaks_the_table_is_refused(name: str) -> None:
    trace = Trace(1, (name,), np.zeros(0, np.int64), np.zeros((0, 1), np.uint16))
    with pytest.raises(ValueError, match="cannot be the name"):
        "".join(format_trace(trace))
