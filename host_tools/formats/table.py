"""The trace file: a text table that people and git can read.

    # pinrail trace 1
    # ship: Skerry Maid
    # plan: 3f0c9a51d2e7
    # tick: 5 ms
    # ticks: 400
    # source: trial 'deck lights latch'
    tick	rudder	deck key	|	relay 1	|	searchlight servo
    0	1500	1500.5		0		1500
    4	1501
    # end

Cells are separated by tabs. One row stands for each tick that had something to say; a tick that is
repeated had a second pulse on some channel. Widths are in microseconds with ".5" where the grain
is a half, and a blank cell is no pulse; blank cells at the end of a row may be left away. What was
driven may follow after a bar: first the lines (1 on, 0 off), after a second bar the servos, each
cell where it changed and in the first row. The last line says that nothing was cut off.

The reader works on columns of bytes, not on rows: eight hours of sixteen channels are a few
seconds' work.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import Problem, ShipError
from gen.plan import HALF_US_PER_US, TICK_MS
from host_tools.trace import MAX_TICKS, NO_PULSE, Trace

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

FIRST_LINE = "# pinrail trace 1"
LAST_LINE = "# end"
BAR = "|"

UNCHANGED = 0xFFFF
"""A driven cell that was left blank: as in the row before."""

MAX_PROBLEMS = 20
"""A file that is no trace at all has a problem in each line; this many are enough to see it."""

_BLOCK_BYTES = 1 << 22
_BLOCK_ROWS = 1 << 14
_MAX_HALF_US = 0xFFFF - 1
_MAX_DIGITS = 12
_MAX_HEADER_LINES = 100
_HEADER = {
    "ship": ".*",
    "plan": ".*",
    "tick": f"{TICK_MS} ms",
    "ticks": "[0-9]{1,12}",
    "source": ".*",
}


@dataclass(frozen=True, eq=False)
class Driven:
    """What the outputs did in each row of a trace file: `lines` are 1, 0 or UNCHANGED, `servos`
    are widths in half microseconds or UNCHANGED.
    """

    line_names: tuple[str, ...]
    servo_names: tuple[str, ...]
    lines: NDArray[np.uint16]
    servos: NDArray[np.uint16]

    @classmethod
    def nothing(cls, rows: int) -> Driven:
        """The outputs of a trace that tells of pulses only."""
        return cls((), (), np.zeros((rows, 0), np.uint16), np.zeros((rows, 0), np.uint16))


def show_half_us(half_us: int) -> str:
    """A width in half microseconds as people read it: 3000 -> "1500", 3001 -> "1500.5"."""
    whole, half = divmod(half_us, HALF_US_PER_US)
    return f"{whole}.5" if half else str(whole)


# --- writing ---------------------------------------------------------------------------------


def format_trace(trace: Trace, driven: Driven | None = None) -> Iterator[str]:
    """The file's text, in pieces; the rows of `driven` are those of `trace`.

    Raises ValueError when a name cannot stand in a table.
    """
    driven = driven or Driven.nothing(trace.rows)
    for what in (trace.ship, trace.plan_id, trace.source):
        if what != " ".join(what.split()):
            raise ValueError(f"{what!r} does not fit one line of the header")
    for name in (*trace.channels, *driven.line_names, *driven.servo_names):
        if name in ("", BAR) or name != name.strip() or set(name) & set("\t\r\n"):
            raise ValueError(f"{name!r} cannot be the name of a column")

    names = ["tick", *trace.channels]
    if driven.line_names or driven.servo_names:
        names += [BAR, *driven.line_names, BAR, *driven.servo_names]
    header = {
        "ship": trace.ship,
        "plan": trace.plan_id,
        "tick": f"{TICK_MS} ms",
        "ticks": trace.ticks,
        "source": trace.source,
    }
    yield f"{FIRST_LINE}\n"
    yield "".join(f"# {key}: {value}".rstrip() + "\n" for key, value in header.items())
    yield "\t".join(names) + "\n"

    texts = np.array([*map(show_half_us, range(UNCHANGED)), ""], dtype=object)
    texts[NO_PULSE] = ""
    states = np.full(UNCHANGED + 1, "", dtype=object)
    states[:2] = "0", "1"
    for start in range(0, trace.rows, _BLOCK_ROWS):
        rows = slice(start, start + _BLOCK_ROWS)
        bar = np.full((len(trace.at[rows]), 1), "", dtype=object)
        pulses = texts[trace.widths_half_us[rows]]
        table = np.hstack(
            [pulses, bar, states[driven.lines[rows]], bar, texts[driven.servos[rows]]]
        )
        yield "".join(
            f"{tick}\t" + "\t".join(row).rstrip("\t") + "\n" if any(row) else f"{tick}\n"
            for tick, row in zip(trace.at[rows].tolist(), table.tolist(), strict=True)
        )
    yield f"{LAST_LINE}\n"


# --- reading ---------------------------------------------------------------------------------


def read_trace(path: Path) -> Trace:
    """The pulses of the trace file at `path`. Raises ShipError as `read_table` does."""
    return read_table(path)[0]


def read_table(path: Path) -> tuple[Trace, Driven]:
    """Read a whole trace file, pulses and outputs.

    Raises ShipError with each problem's line and column: `cannot-read`, `not-a-trace`, `trace-cut`
    (the file ends early), `trace-header`, `trace-cell`.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise ShipError(
            [
                Problem(
                    file=str(path),
                    line=0,
                    col=0,
                    code="cannot-read",
                    what=f"cannot be read: {error.strerror}",
                )
            ]
        ) from error
    return parse_table(content, str(path))


def parse_table(content: bytes, file: str) -> tuple[Trace, Driven]:
    """As `read_table`, from the file's content; `file` is its name in messages."""
    return _Reader(content, file).read()


class _Reader:
    def __init__(self, content: bytes, file: str) -> None:
        self.content = content.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")
        self.file = file
        self.problems: list[Problem] = []

    def read(self) -> tuple[Trace, Driven]:
        """Both parts of the file, or ShipError."""
        header, names, start, first_row_line = self._read_head()
        rows_end = self._find_end(start)
        columns = _Columns(names)
        ticks = int(header["ticks"])
        at, cells = self._read_rows(self.content[start:rows_end], columns, ticks, first_row_line)
        if self.problems:
            raise ShipError(self.problems)
        after_tick = names[1:]
        trace = Trace(
            ticks=ticks,
            channels=tuple(after_tick[columns.pulses]),
            at=at,
            widths_half_us=cells[:, columns.pulses],
            ship=header.get("ship", ""),
            plan_id=header.get("plan", ""),
            source=header.get("source", ""),
        )
        driven = Driven(
            tuple(after_tick[columns.lines]),
            tuple(after_tick[columns.servos]),
            cells[:, columns.lines],
            cells[:, columns.servos],
        )
        return trace, driven

    def _read_head(self) -> tuple[dict[str, str], list[str], int, int]:
        """The header, the names of the columns, where the rows begin, and on which line."""
        header: dict[str, str] = {}
        start = 0
        for number in range(1, _MAX_HEADER_LINES):
            end = self.content.find(b"\n", start)
            if end < 0:
                raise self._stop("trace-cut", number, 1, "the trace ends within its header")
            try:
                line = self.content[start:end].decode()
            except UnicodeDecodeError as error:
                raise self._stop(
                    "not-a-trace", number, error.start + 1, "the file is not text in UTF-8"
                ) from None
            start = end + 1
            if number == 1:
                if line != FIRST_LINE:
                    raise self._stop(
                        "not-a-trace",
                        1,
                        1,
                        "this is not a trace that Pinrail can read",
                        got=line[:60],
                        expected=FIRST_LINE,
                    )
            elif line.startswith("#"):
                self._header_line(header, line, number)
            else:
                self._check_header(header, number)
                return header, self._column_names(line, number), start, number + 1
        raise self._stop("not-a-trace", _MAX_HEADER_LINES, 1, "the header never ends")

    def _header_line(self, header: dict[str, str], line: str, number: int) -> None:
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), value.strip()
        if not colon or key not in _HEADER or key in header:
            raise self._stop(
                "trace-header",
                number,
                1,
                "a header line is unknown or given twice",
                got=line[:60],
                expected=", ".join(f"# {name}: ..." for name in _HEADER),
            )
        if not re.fullmatch(_HEADER[key], value):
            raise self._stop(
                "trace-header",
                number,
                line.index(":") + 2,
                f"'{key}' has a value that it cannot have",
                got=value[:60],
                expected={"tick": f"{TICK_MS} ms"}.get(key, "a whole number"),
            )
        header[key] = value

    def _check_header(self, header: dict[str, str], number: int) -> None:
        if not {"tick", "ticks"} <= header.keys():
            raise self._stop(
                "trace-header", number, 1, "the header lacks '# tick: ...' or '# ticks: ...'"
            )
        if int(header["ticks"]) > MAX_TICKS:
            raise self._stop(
                "trace-header",
                number - 1,
                1,
                "the trace is too long",
                got=header["ticks"],
                expected=f"at most {MAX_TICKS} ticks",
            )

    def _column_names(self, line: str, number: int) -> list[str]:
        names = line.split("\t")
        if names[0] != "tick" or "" in names or names.count(BAR) not in (0, 2):
            raise self._stop(
                "trace-header",
                number,
                1,
                "this should be the row that names the columns",
                got=line[:60],
                expected="tick, then the channels, with a tab between two names",
            )
        return names

    def _find_end(self, start: int) -> int:
        """Where the rows end: at the last line, which must be LAST_LINE."""
        text = self.content.rstrip(b"\n")
        last = text.rfind(b"\n", start - 1) + 1
        if text[last:].rstrip() == LAST_LINE.encode() and last >= start:
            return last
        whole = self.content.endswith(b"\n")
        raise self._stop(
            "trace-cut",
            text.count(b"\n") + 1 + whole,
            1 if whole else len(text) - last + 1,
            "the trace is cut off" + ("" if whole else " in the middle of a line"),
            got=text[last:][:60].decode(errors="replace"),
            expected=f"{LAST_LINE} as the last line",
            hint="copy or record it again; what is here may be only a part of what happened",
        )

    def _read_rows(
        self, text: bytes, columns: _Columns, ticks: int, first_line: int
    ) -> tuple[NDArray[np.int64], NDArray[np.uint16]]:
        rows = text.count(b"\n")
        at = np.zeros(rows, np.int64)
        cells = np.empty((rows, columns.count - 1), np.uint16)
        cells[:] = columns.blank[1:]
        row = start = latest = 0
        while start < len(text) and len(self.problems) < MAX_PROBLEMS:
            end = text.find(b"\n", start + _BLOCK_BYTES) + 1 or len(text)
            block = _Block(text[start:end], columns)
            block.read_into(at[row : row + block.rows], cells[row : row + block.rows])
            for cell in block.bad()[: MAX_PROBLEMS - len(self.problems)].tolist():
                self._bad_cell(block, cell, first_line + row)
            if not self.problems:
                self._check_order(at[row : row + block.rows], latest, ticks, first_line + row)
                latest = int(at[row + block.rows - 1])
            row += block.rows
            start = end
        return at, cells

    def _bad_cell(self, block: _Block, cell: int, first_line: int) -> None:
        line, column, col, got = block.place(cell)
        if column >= block.columns.count:
            what, expected = "the row has more cells than there are columns", "no more cells"
        else:
            what = f"column '{block.columns.names[column]}' has a cell that cannot be read"
            expected = _EXPECTED[int(block.columns.kind[column])]
        self.problems.append(
            self._problem("trace-cell", first_line + line, col, what, got=got, expected=expected)
        )

    def _check_order(self, at: NDArray[np.int64], latest: int, ticks: int, first_line: int) -> None:
        before = np.concatenate([[latest], at[:-1]])
        for wrong, what, expected in (
            (at < before, "a tick is earlier than the one before it", "ticks that never fall"),
            (at >= ticks, "a tick lies after the end of the trace", f"less than {ticks}"),
        ):
            if wrong.any():
                row = int(wrong.argmax())
                self.problems.append(
                    self._problem(
                        "trace-cell",
                        first_line + row,
                        1,
                        what,
                        got=str(at[row]),
                        expected=expected,
                    )
                )

    def _problem(
        self,
        code: str,
        line: int,
        col: int,
        what: str,
        *,
        got: str = "",
        expected: str = "",
        hint: str = "",
    ) -> Problem:
        return Problem(
            file=self.file,
            line=line,
            col=col,
            code=code,
            what=what,
            got=got,
            expected=expected,
            hint=hint,
        )

    def _stop(
        self,
        code: str,
        line: int,
        col: int,
        what: str,
        *,
        got: str = "",
        expected: str = "",
        hint: str = "",
    ) -> ShipError:
        return ShipError(
            [self._problem(code, line, col, what, got=got, expected=expected, hint=hint)]
        )


_TICK, _WIDTH, _BAR, _STATE = range(4)
_EXPECTED = ("a tick number", "a width such as 1500 or 1500.5", "nothing below a bar", "0 or 1")


class _Columns:
    """What each column of a table holds."""

    def __init__(self, names: list[str]) -> None:
        self.names = names
        self.count = len(names)
        bars = [index for index, name in enumerate(names) if name == BAR] or [self.count] * 2
        first, second = bars
        self.kind = np.full(self.count, _WIDTH)
        self.kind[0] = _TICK
        self.kind[first:second] = _STATE
        self.kind[first : first + 1] = self.kind[second : second + 1] = _BAR
        self.blank = np.full(self.count, UNCHANGED, np.uint16)
        self.blank[:first] = NO_PULSE
        # Slices of the columns after the tick, which is kept apart.
        self.pulses = slice(0, first - 1)
        self.lines = slice(first, second - 1)
        self.servos = slice(second, None)


class _Block:
    """Some whole rows of text, taken apart all at once."""

    def __init__(self, text: bytes, columns: _Columns) -> None:
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

        is_tick, is_width = kinds == _TICK, kinds == _WIDTH
        value = np.where(is_width, number * HALF_US_PER_US + half, number)
        wrong |= has_point & ~is_width
        wrong |= kinds == _BAR
        wrong |= is_width & ((value == NO_PULSE) | (value > _MAX_HALF_US))
        wrong |= (kinds == _STATE) & (value > 1)

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
        text = self.text[start : start + length][:40].decode(errors="replace")
        return int(self.row[cell]), int(self.column[cell]), start - line_start + 1, text

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
        wrong = (digits > _MAX_DIGITS) | (has_point & ~half & (tail != ord("0")))
        number = np.zeros(len(given), np.int64)
        for index in range(min(int(digits.max(initial=0)), _MAX_DIGITS)):
            inside = index < digits
            digit = self.byte[np.where(inside, starts + index, starts)] - np.uint8(ord("0"))
            wrong |= inside & (digit > 9)
            number = np.where(inside, number * 10 + digit, number)
        return number, has_point, half, wrong
