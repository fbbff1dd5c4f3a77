from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from host_tools.formats.outputs import beside_pulses
from host_tools.formats.read_table import parse_table
from host_tools.formats.table import UNCHANGED
from host_tools.formats.write_table import format_trace
from host_tools.record import Record
from host_tools.trace import Trace
from tests.host_tools.wherry import SMALL, us

NAMES = tuple(channel.name for channel in SMALL.channels)


def record(at: list[int], lines: list[int], servos_us: list[int]) -> Record:
    widths = np.full((len(at), 4), us(1500), np.uint16)
    trace = Trace(len(lines), NAMES, np.array(at, np.int64), widths)
    servos = np.array([[us(width)] for width in servos_us], np.uint16)
    return Record(
        trace,
        np.array(lines, np.uint64),
        servos.reshape(len(lines), 1),
        np.zeros((len(lines), 0), np.uint8),
        None,
    )


def test_a_change_without_a_pulse_gets_a_row_of_its_own() -> None:
    trace, driven = beside_pulses(SMALL, record([1, 1], [0, 0, 2, 2], [1500, 1500, 1500, 1600]))
    assert trace.at.tolist() == [0, 1, 1, 2, 3]
    assert trace.widths_half_us[:, 0].tolist() == [0, us(1500), us(1500), 0, 0]
    blank = UNCHANGED
    assert driven.lines[:, 1].tolist() == [0, blank, blank, 1, blank]
    assert driven.servos[:, 0].tolist() == [us(1500), blank, blank, blank, us(1600)]


def test_outputs_stand_in_the_first_row_of_a_tick() -> None:
    _, driven = beside_pulses(SMALL, record([0, 1, 1], [0, 1], [1500, 1500]))
    assert driven.lines[:, 0].tolist() == [0, 1, UNCHANGED]


@given(
    st.lists(st.tuples(st.integers(0, 31), st.integers(1000, 1004)), min_size=1, max_size=30),
    st.data(),
)
def test_outputs_can_be_told_from_the_file_again(
    outputs: list[tuple[int, int]], data: st.DataObject
) -> None:
    at = sorted(data.draw(st.lists(st.integers(0, len(outputs) - 1), max_size=10)))
    ran = record(at, [lines for lines, _ in outputs], [width for _, width in outputs])
    text = "".join(format_trace(*beside_pulses(SMALL, ran)))
    trace, driven = parse_table(text.encode(), "a.trace")
    bits, width, row = [0] * len(SMALL.lines), 0, 0
    for tick in range(ran.ticks):
        while row < trace.rows and trace.at[row] == tick:
            for line, cell in enumerate(driven.lines[row]):
                bits[line] = bits[line] if cell == UNCHANGED else int(cell)
            width = width if driven.servos[row, 0] == UNCHANGED else int(driven.servos[row, 0])
            row += 1
        assert sum(bit << line for line, bit in enumerate(bits)) == ran.lines[tick]
        assert width == ran.servos_half_us[tick, 0]
    kept = trace.widths_half_us.any(axis=1)
    np.testing.assert_array_equal(trace.at[kept], ran.trace.at)
