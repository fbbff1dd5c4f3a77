"""Raw edges from a logic analyser: a value change dump (VCD, IEEE 1364) with one-bit signals.

Each signal that is a sum signal becomes a column of times between its edges; each other one a
column of the widths of its high pulses. A dump comes from anywhere: its sizes are bounded before
anything is kept, and what is wrong with it is told with its place.
"""

from __future__ import annotations

import re
from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import Place, Problems, ShipError, show
from gen.names import comment
from host_tools.learn.totals import SumFound, from_edges
from host_tools.rows import as_rows
from host_tools.trace import Trace

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

TICK_US = 5_000
WIDEST_HALF_US = 0xFFFF
UNITS_US = {"s": 1e6, "ms": 1e3, "us": 1.0, "ns": 1e-3, "ps": 1e-6, "fs": 1e-9}

MOST_BYTES = 1 << 28
MOST_SIGNALS = 64
MOST_CHANGES = 1 << 22
"""Of all signals together: an hour of eight sum signals."""

MOST_TICKS = 1 << 24
"""23 hours."""

MOST_NAME = 60
MOST_DIGITS = 18
MOST_IN_SECTION = 8
"""Words of a $var or a $timescale, and one or two more."""

_WORD = re.compile(r"\S+")
_SCALE = re.compile(r"(1|10|100)(s|ms|us|ns|ps|fs)")


def read_edges(path: Path) -> tuple[Trace, dict[str, SumFound]]:
    """The trace of a VCD file, and what its sum signals are. Raises ShipError: `cannot-read`,
    `trace-large`, or `not-a-trace` where it is no such file."""
    try:
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ShipError.about(
            str(path), "cannot-read", f"the file cannot be read: {reason}"
        ) from error
    return parse_edges(content, str(path), path.name)


def parse_edges(content: bytes, file: str, source: str = "") -> tuple[Trace, dict[str, SumFound]]:
    """As `read_edges`, from a file's content; `file` is its name in messages."""
    if len(content) > MOST_BYTES:
        most = f"at most {MOST_BYTES} bytes"
        raise ShipError.about(file, "trace-large", "the dump is too large", expected=most)
    dump = _Dump(content.decode("utf-8", "replace"), file)
    dump.read()
    columns, sums, lasts_us = [], {}, 0.0
    for signal in dump.signals.values():
        if len(signal.at) < 2:
            continue
        name = signal.name
        at_us = np.array(signal.at, float) * dump.step_us
        levels = np.array(signal.levels, bool)
        lasts_us = max(lasts_us, float(at_us[-1]))
        sum_found = from_edges(name, at_us, levels)
        if sum_found is not None:
            sums[name], train = sum_found
            columns.append((name, train.at, train.widths))
        else:
            columns.append((name, *_high_pulses(at_us, levels)))
    if not columns:
        raise dump.no_dump("nothing changes in it")
    return _as_trace(columns, int(lasts_us / TICK_US) + 1, comment(source or file)), sums


@dataclass
class _Signal:
    """A wire: when it changed, in the dump's steps, and to which level."""

    name: str
    at: array[int] = field(default_factory=lambda: array("q"))
    levels: array[int] = field(default_factory=lambda: array("B"))


class _Dump:
    """Takes a dump apart, word by word. `step_us` is its time unit."""

    def __init__(self, text: str, file: str) -> None:
        self.step_us = 0.0
        self.signals: dict[str, _Signal] = {}
        self._text = text
        self._file = file
        self._words = _WORD.finditer(text)
        self._at = 0

    def read(self) -> None:
        """The head, then the changes. Raises ShipError."""
        self._read_head()
        if not self.step_us or not self.signals:
            raise self.no_dump("it has no $timescale or no $var of one bit")
        self._read_changes()

    def no_dump(self, what: str, code: str = "not-a-trace") -> ShipError:
        """What is wrong with it, at the word that was read last."""
        before = self._text[: self._at]
        place = Place(before.count("\n") + 1, self._at - before.rfind("\n"))
        problems = Problems(self._file)
        hint = "save the analyser's recording as VCD, one signal a wire"
        problems.add(code, place, f"no value change dump: {what}", hint=hint)
        return ShipError(problems)

    def _next(self) -> str:
        """The next word, "" at the end."""
        found = next(self._words, None)
        if found is None:
            return ""
        self._at = found.start()
        return found[0]

    def _section(self) -> list[str]:
        """The words up to the next $end; no more of them than any of use has are kept."""
        words: list[str] = []
        while (word := self._next()) != "$end":
            if not word:
                raise self.no_dump("it ends within its head")
            if len(words) < MOST_IN_SECTION:
                words.append(word)
        return words

    def _read_head(self) -> None:
        while (word := self._next()) != "$enddefinitions":
            if not word:
                raise self.no_dump("it has no $enddefinitions")
            if word == "$timescale":
                scale = _SCALE.fullmatch("".join(self._section()))
                if scale is None:
                    raise self.no_dump("its $timescale is none")
                self.step_us = int(scale[1]) * UNITS_US[scale[2]]
            elif word == "$var":
                self._take_signal(self._section())
            elif word.startswith("$") and word != "$end":
                self._section()

    def _take_signal(self, words: list[str]) -> None:
        if len(words) < 4 or words[1] != "1":
            return  # a bus, or a number
        code, name = words[2], words[3]
        if not name.isprintable() or not name.isascii() or len(name) > MOST_NAME or name in "|~":
            raise self.no_dump(f"{show(name)} cannot be a signal's name")
        if any(one.name == name for one in self.signals.values()):
            raise self.no_dump(f"two signals are called {show(name)}")
        if len(self.signals) == MOST_SIGNALS:
            raise self.no_dump(f"it has more than {MOST_SIGNALS} signals", "trace-large")
        self.signals[code] = _Signal(name)

    def _read_changes(self) -> None:
        """A level that is told again is no change."""
        now = changes = 0
        most_steps = MOST_TICKS * TICK_US / self.step_us
        while word := self._next():
            if word[0] == "#":
                digits = word[1:]
                if not digits.isdigit() or len(digits) > MOST_DIGITS or int(digits) < now:
                    raise self.no_dump(f"{show(word)} is no time, or an earlier one")
                now = int(digits)
                if now >= most_steps:
                    raise self.no_dump("it lasts too long", "trace-large")
            elif word[0] in "01" and (signal := self.signals.get(word[1:])) is not None:
                level = int(word[0])
                if not signal.levels or signal.levels[-1] != level:
                    signal.at.append(now)
                    signal.levels.append(level)
                    changes += 1
                    if changes > MOST_CHANGES:
                        raise self.no_dump("it has too many changes", "trace-large")


def _high_pulses(
    at_us: NDArray[np.float64], levels: NDArray[np.bool_]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    ends = np.flatnonzero(~levels[1:] & levels[:-1]) + 1
    widths = np.clip(np.round(2 * (at_us[ends] - at_us[ends - 1])), 1, WIDEST_HALF_US)
    return (at_us[ends] / TICK_US).astype(np.int64), widths.astype(np.int64)


def _as_trace(
    columns: list[tuple[str, NDArray[np.int64], NDArray[np.int64]]], ticks: int, source: str
) -> Trace:
    inputs = np.concatenate([np.full(len(at), number) for number, (_, at, _) in enumerate(columns)])
    at, widths = (np.concatenate([one[part] for one in columns]) for part in (1, 2))
    rows, table = as_rows(at, inputs, widths, len(columns))
    return Trace(ticks, tuple(one[0] for one in columns), rows, table, source=source)
