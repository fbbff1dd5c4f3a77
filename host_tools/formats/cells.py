"""The cells of a trace file, taken apart many at a time.

Eight hours of sixteen channels are 23 million cells, so this works on arrays of bytes and not on
rows of text: every cell's first digit at once, then every cell's second one, and so on.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import FORCE, HALF_US_PER_US, MOST_COUNTS
from host_tools.formats.table import BAR, UNCHANGED, WAVE
from host_tools.trace import NO_PULSE

if TYPE_CHECKING:
    from numpy.typing import NDArray

MAX_HALF_US = 0xFFFF - 1
MAX_DUTY = 255
MAX_DIGITS = 12

TICK, WIDTH, BETWEEN, STATE, READING, DUTY, FORCED = range(7)
"""The kinds of column."""

EXPECTED = (
    "a tick number",
    "a width such as 1500 or 1500.5",
    "nothing below a bar or a wave",
    "0 or 1",
    "a whole number of counts, or a level",
    "0 to 255",
    "0, or (function + 1) * 256 + state",
)


class Columns:
    """What each column of a table holds."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        self.count = len(names)
        bars = [index for index, name in enumerate(names) if name == BAR]
        first, second, third = bars + [self.count] * (3 - len(bars))
        wave = names.index(WAVE) if WAVE in names else first
        self.kind = np.full(self.count, WIDTH)
        self.kind[0] = TICK
        self.kind[wave:first] = READING
        if FORCE in names[wave:first]:
            self.kind[names.index(FORCE, wave)] = FORCED
        self.kind[first:second] = STATE
        self.kind[third:] = DUTY
        for bar in (wave, first, second, third):
            self.kind[bar : bar + 1] = BETWEEN
        self.blank = np.full(self.count, UNCHANGED, np.uint16)
        self.blank[:wave] = NO_PULSE
        # Slices of the columns after the tick, which is kept apart.
        self.pulses = slice(0, wave - 1)
        self.readings = slice(wave, max(wave, first - 1))
        self.lines = slice(first, second - 1)
        self.servos = slice(second, third - 1 if third < self.count else None)
        self.lights = slice(third, None)


class Block:
    """Some whole rows of text, taken apart all at once."""

    def __init__(self, text: bytes, columns: Columns) -> None:
        self.columns = columns
        self.text = text
        self.byte = np.frombuffer(text, np.uint8)
        separators = np.flatnonzero((self.byte == ord("\t")) | (self.byte == ord("\n")))
        last_in_row = self.byte[separators] == ord("\n")
        self.starts = np.concatenate([[0], separators[:-1] + 1]).astype(np.int32)
        self.lengths = separators.astype(np.int32) - self.starts
        self.row = np.cumsum(last_in_row, dtype=np.int32) - last_in_row
        self.rows = int(last_in_row.sum())
        first_in_row = np.concatenate([[0], np.flatnonzero(last_in_row)[:-1] + 1])
        self.column = np.arange(len(separators)) - first_in_row[self.row]
        self._bad: NDArray[np.int64] = np.zeros(0, np.int64)

    def read_into(self, at: NDArray[np.int64], cells: NDArray[np.uint16]) -> None:
        """Fill the ticks and the other cells of these rows."""
        columns = self.columns
        extra = self.column >= columns.count
        kind = columns.kind[np.where(extra, 0, self.column)]
        given = np.flatnonzero((self.lengths > 0) & ~extra)
        kinds = kind[given]
        number, has_point, half, wrong = self._numbers(given)

        is_tick, is_width = kinds == TICK, kinds == WIDTH
        value = np.where(is_width, number * HALF_US_PER_US + half, number)
        wrong |= has_point & ~is_width
        wrong |= kinds == BETWEEN
        wrong |= is_width & ((value == NO_PULSE) | (value > MAX_HALF_US))
        wrong |= (kinds == STATE) & (value > 1)
        wrong |= (kinds == READING) & (value > MOST_COUNTS)
        wrong |= (kinds == FORCED) & (value >= UNCHANGED)
        wrong |= (kinds == DUTY) & (value > MAX_DUTY)

        missing = (self.column == 0) & (self.lengths == 0)
        self._bad = np.union1d(
            given[wrong], np.flatnonzero(missing | (self.column == columns.count))
        )
        at[self.row[given[is_tick]]] = value[is_tick]
        others = ~is_tick & ~wrong
        place = given[others]
        cells[self.row[place], self.column[place] - 1] = value[others]

    def bad(self) -> NDArray[np.int64]:
        """The cells that could not be read, in order."""
        return self._bad

    def place(self, cell: int) -> tuple[int, int, int, str]:
        """A cell's row in this block, its column, its first character's place, and its text."""
        start, length = int(self.starts[cell]), int(self.lengths[cell])
        line_start = self.text.rfind(b"\n", 0, start) + 1
        text = self.text[start : start + min(length, 400)].decode(errors="replace")
        col = len(self.text[line_start:start].decode(errors="replace")) + 1
        return int(self.row[cell]), int(self.column[cell]), col, text

    def _numbers(
        self, given: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
        """For each cell: the whole number, whether ".0" or ".5" follows, whether it is ".5", and
        whether the cell is no such number.
        """
        starts, lengths = self.starts[given], self.lengths[given]
        tail = self.byte[starts + lengths - 1]
        has_point = (lengths > 2) & (self.byte[starts + np.maximum(lengths - 2, 0)] == ord("."))
        half = has_point & (tail == ord("5"))
        digits = lengths - 2 * has_point
        wrong = (digits > MAX_DIGITS) | (has_point & ~half & (tail != ord("0")))
        number = np.zeros(len(given), np.int64)
        for index in range(min(int(digits.max(initial=0)), MAX_DIGITS)):
            inside = index < digits
            digit = self.byte[np.where(inside, starts + index, starts)] - np.uint8(ord("0"))
            wrong |= inside & (digit > 9)
            number = np.where(inside, number * 10 + digit, number)
        return number, has_point, half, wrong
