"""Raw edges from a logic analyser: a value change dump (VCD, IEEE 1364) with one-bit signals.

Each signal that is a sum signal becomes a column of times between its edges; each other one a
column of the widths of its high pulses.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import ShipError
from host_tools.learn.totals import SumFound, from_edges
from host_tools.rows import as_rows
from host_tools.trace import MAX_TICKS, Trace

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

TICK_US = 5_000
WIDEST_HALF_US = 0xFFFF
UNITS_US = {"s": 1e6, "ms": 1e3, "us": 1.0, "ns": 1e-3, "ps": 1e-6, "fs": 1e-9}

_SCALE = re.compile(r"\$timescale\s+(1|10|100)\s*(s|ms|us|ns|ps|fs)\s+\$end")
_TIME = re.compile("#[0-9]{1,19}")
_WIRE = re.compile(r"\$var\s+\w+\s+1\s+(\S+)\s+(.+?)\s+\$end")


def read_edges(path: Path) -> tuple[Trace, dict[str, SumFound]]:
    """The trace of a VCD file, and what its sum signals are. Raises ShipError: `cannot-read`, or
    `not-a-trace` where it is no such file."""
    try:
        text = path.read_bytes().decode("ascii", "replace")
    except OSError as error:
        raise ShipError.about(
            str(path), "cannot-read", f"the file cannot be read: {error.strerror}"
        ) from error
    scale, wires = _SCALE.search(text), dict(_WIRE.findall(text))
    _, found, body = text.partition("$enddefinitions")
    if scale is None or not wires or not found:
        raise _no_dump(path, "it has no $timescale, no $var of one bit or no $enddefinitions")
    a_step_us = int(scale[1]) * UNITS_US[scale[2]]
    changes = _changes(body, wires, path, a_step_us)
    lasts_us = max((float(at_us[-1]) for at_us, _ in changes.values()), default=0.0)
    if not changes or lasts_us / TICK_US >= MAX_TICKS:
        raise _no_dump(path, "nothing changes in it, or it lasts for years")
    names = {code: wires[code].split(" ")[0] for code in changes}
    if len(set(names.values())) < len(names):
        raise _no_dump(path, "two of its signals have the same name")
    columns, sums = [], {}
    for code, (at_us, levels) in changes.items():
        name = names[code]
        sum_found = from_edges(name, at_us, levels)
        if sum_found is not None:
            sums[name], train = sum_found
            columns.append((name, train.at, train.widths))
        else:
            columns.append((name, *_high_pulses(at_us, levels)))
    return _as_trace(columns, int(lasts_us / TICK_US) + 1, path.name), sums


def _no_dump(path: Path, what: str) -> ShipError:
    hint = "save the analyser's recording as VCD, one signal a wire"
    return ShipError.about(str(path), "not-a-trace", f"no value change dump: {what}", hint=hint)


def _changes(
    body: str, wires: dict[str, str], path: Path, a_step_us: float
) -> dict[str, tuple[NDArray[np.float64], NDArray[np.bool_]]]:
    """When each signal changes, and to which level; a level told again is no change."""
    now = 0
    found: dict[str, tuple[list[int], list[bool]]] = {}
    for word in body.split():
        if word[0] == "#":
            if not _TIME.fullmatch(word) or int(word[1:]) < now:
                raise _no_dump(path, f"{word[:20]!r} is no time, or an earlier one")
            now = int(word[1:])
        elif word[0] in "01" and word[1:] in wires:
            at, levels = found.setdefault(word[1:], ([], []))
            level = word[0] == "1"
            if not levels or levels[-1] != level:
                at.append(now)
                levels.append(level)
    return {
        code: (np.array(at, float) * a_step_us, np.array(levels, bool))
        for code, (at, levels) in found.items()
        if len(at) > 1
    }


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
