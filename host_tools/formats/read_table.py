"""Trace file -> trace."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import Place, Problems, ShipError, show
from gen.plan import TICK_MS
from host_tools.formats.cells import EXPECTED, Block, Columns
from host_tools.formats.table import BAR, FIRST_LINE, HEADER, LAST_LINE, WAVE, Driven
from host_tools.trace import MAX_TICKS, Trace

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

MAX_PROBLEMS = 20
"""A file that is no trace at all has a problem in each line; this many are enough to see it."""

MAX_HEADER_LINES = 100
MAX_HEADER_CHARACTERS = 20_000
"""Of one line, and so of all columns' names."""

MAX_BYTES = 1 << 29
MAX_COLUMNS = 256
MAX_CELLS = 1 << 28
"""Half a GiB each: more than a day of sixteen channels at 50 frames a second."""

BLOCK_BYTES = 1 << 22
"""How much is read at a time, so that a long trace does not fill the memory."""


def read_trace(path: Path) -> Trace:
    """The pulses of the trace file at `path`. Raises ShipError as `read_table` does."""
    return read_table(path)[0]


def read_table(path: Path) -> tuple[Trace, Driven]:
    """Read a whole trace file, pulses and outputs.

    Raises ShipError with each problem's line and column: `cannot-read`, `not-a-trace`, `trace-cut`
    (the file ends early), `trace-header`, `trace-cell`.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ShipError.about(
            str(path), "cannot-read", f"the trace cannot be read: {reason}"
        ) from error
    if len(content) > MAX_BYTES:
        raise ShipError.about(
            str(path),
            "trace-large",
            "the trace is too large",
            expected=f"at most {MAX_BYTES} bytes",
        )
    return parse_table(content, str(path))


def parse_table(content: bytes, file: str) -> tuple[Trace, Driven]:
    """As `read_table`, from the file's content; `file` is its name in messages."""
    return _Reader(content, file).read()


class _Reader:
    def __init__(self, content: bytes, file: str) -> None:
        self.content = content.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")
        self.problems = Problems(file)

    def read(self) -> tuple[Trace, Driven]:
        """Both parts of the file, or ShipError."""
        header, names, start, first_row_line = self._read_head()
        rows_end = self._find_end(start)
        columns = Columns(names)
        ticks = int(header["ticks"])
        at, cells = self._read_rows(self.content[start:rows_end], columns, ticks, first_row_line)
        self.problems.stop_on_errors()
        after_tick = names[1:]
        trace = Trace(
            ticks=ticks,
            channels=tuple(after_tick[columns.pulses]),
            at=at,
            widths_half_us=cells[:, columns.pulses],
            ship=header.get("ship", ""),
            plan_id=header.get("plan", ""),
            source=header.get("source", ""),
            sensors=tuple(after_tick[columns.readings]),
            readings=cells[:, columns.readings],
            kept=bytes.fromhex(header.get("kept", "")),
        )
        driven = Driven(
            tuple(after_tick[columns.lines]),
            tuple(after_tick[columns.servos]),
            cells[:, columns.lines],
            cells[:, columns.servos],
            tuple(after_tick[columns.lights]),
            cells[:, columns.lights],
        )
        return trace, driven

    def _read_head(self) -> tuple[dict[str, str], list[str], int, int]:
        """The header, the names of the columns, where the rows begin, and on which line."""
        header: dict[str, str] = {}
        start = 0
        for number in range(1, MAX_HEADER_LINES):
            end = self.content.find(b"\n", start)
            if end < 0:
                raise self._stop("trace-cut", number, 1, "the trace ends within its header")
            line = self._header_text(self.content[start:end], number)
            start = end + 1
            if number == 1:
                if line != FIRST_LINE:
                    what = "this is not a trace that Pinrail can read"
                    raise self._stop("not-a-trace", 1, 1, what, got=line, expected=FIRST_LINE)
            elif line.startswith("#"):
                self._header_line(header, line, number)
            else:
                self._check_header(header, number)
                return header, self._column_names(line, number), start, number + 1
        raise self._stop("not-a-trace", MAX_HEADER_LINES, 1, "the header never ends")

    def _header_text(self, raw: bytes, number: int) -> str:
        """A line of the header; nothing in it is unseen but the tabs between names."""
        try:
            line = raw.decode()
        except UnicodeDecodeError as error:
            col = len(raw[: error.start].decode()) + 1
            raise self._stop("not-a-trace", number, col, "the file is not text in UTF-8") from None
        if len(line) > MAX_HEADER_CHARACTERS:
            most = f"at most {MAX_HEADER_CHARACTERS} characters"
            raise self._stop("trace-large", number, 1, "the line is too long", expected=most)
        for col, character in enumerate(line, start=1):
            if not character.isprintable() and character != "\t":
                what = "a character that cannot be seen"
                got = f"U+{ord(character):04X}"
                raise self._stop("trace-header", number, col, what, got=got)
        return line

    def _header_line(self, header: dict[str, str], line: str, number: int) -> None:
        key, colon, value = line[1:].partition(":")
        key, value = key.strip(), " ".join(value.split())
        if not colon or key not in HEADER or key in header:
            raise self._stop(
                "trace-header",
                number,
                1,
                "a header line is unknown or given twice",
                got=line,
                expected=", ".join(f"# {name}: ..." for name in HEADER),
            )
        if not re.fullmatch(HEADER[key], value):
            raise self._stop(
                "trace-header",
                number,
                line.index(":") + 2,
                f"'{key}' has a value that it cannot have",
                got=value,
                expected={"tick": f"{TICK_MS} ms", "kept": "bytes in hexadecimal"}.get(
                    key, "a whole number"
                ),
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
        if len(names) > MAX_COLUMNS:
            raise self._stop(
                "trace-large",
                number,
                1,
                "there are too many columns",
                got=str(len(names)),
                expected=f"at most {MAX_COLUMNS}",
            )
        in_order = WAVE not in names or BAR not in names or names.index(WAVE) < names.index(BAR)
        whole = names.count(BAR) in (0, 2, 3) and names.count(WAVE) < 2 and in_order
        plain = all(name and name == name.strip() for name in names)
        if names[0] != "tick" or not plain or not whole:
            raise self._stop(
                "trace-header",
                number,
                1,
                "this should be the row that names the columns",
                got=line,
                expected="tick, then the channels, with a tab between two names",
            )
        channels = names[1 : names.index(BAR)] if BAR in names else names[1:]
        bare = [name for name in channels if name != WAVE]
        twice = sorted({name for name in bare if bare.count(name) > 1})
        if twice:
            raise self._stop(
                "trace-header", number, 1, "two columns have the same name", got=", ".join(twice)
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
            1 if whole else len(text[last:].decode(errors="replace")) + 1,
            "the trace is cut off" + ("" if whole else " in the middle of a line"),
            got=text[last:].decode(errors="replace"),
            expected=f"{LAST_LINE} as the last line",
            hint="copy or record it again; what is here may be only a part of what happened",
        )

    def _read_rows(
        self, text: bytes, columns: Columns, ticks: int, first_line: int
    ) -> tuple[NDArray[np.int64], NDArray[np.uint16]]:
        rows = text.count(b"\n")
        if rows * columns.count > MAX_CELLS:
            raise self._stop(
                "trace-large",
                first_line,
                1,
                "there are too many cells",
                got=f"{rows} rows of {columns.count}",
                expected=f"at most {MAX_CELLS} cells",
            )
        at = np.zeros(rows, np.int64)
        cells = np.empty((rows, columns.count - 1), np.uint16)
        cells[:] = columns.blank[1:]
        row = start = latest = 0
        while start < len(text) and len(self.problems.found) < MAX_PROBLEMS:
            end = text.find(b"\n", start + BLOCK_BYTES) + 1 or len(text)
            block = Block(text[start:end], columns)
            block.read_into(at[row : row + block.rows], cells[row : row + block.rows])
            for cell in block.bad()[: MAX_PROBLEMS - len(self.problems.found)].tolist():
                self._bad_cell(block, cell, first_line + row)
            if not self.problems.found:
                self._check_order(at[row : row + block.rows], latest, ticks, first_line + row)
                latest = int(at[row + block.rows - 1])
            row += block.rows
            start = end
        return at, cells

    def _bad_cell(self, block: Block, cell: int, first_line: int) -> None:
        line, column, col, got = block.place(cell)
        if column >= block.columns.count:
            what, expected = "the row has more cells than there are columns", "no more cells"
        else:
            what = f"column '{block.columns.names[column]}' has a cell that cannot be read"
            expected = EXPECTED[int(block.columns.kind[column])]
        self.problems.add(
            "trace-cell", Place(first_line + line, col), what, got=show(got), expected=expected
        )

    def _check_order(self, at: NDArray[np.int64], latest: int, ticks: int, first_line: int) -> None:
        before = np.concatenate([[latest], at[:-1]])
        for wrong, what, expected in (
            (at < before, "a tick is earlier than the one before it", "ticks that never fall"),
            (at >= ticks, "a tick lies after the end of the trace", f"less than {ticks}"),
        ):
            if wrong.any():
                row = int(wrong.argmax())
                place = Place(first_line + row, 1)
                self.problems.add("trace-cell", place, what, got=str(at[row]), expected=expected)

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
        self.problems.add(
            code,
            Place(line, col),
            what,
            got=show(got) if got else "",
            expected=expected,
            hint=hint,
        )
        return ShipError(self.problems)
