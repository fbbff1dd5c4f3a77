"""Makes a trace that shows a difference as short as it can.

After Zeller and Hildebrandt, "Simplifying and Isolating Failure-Inducing Input" (IEEE Transactions
on Software Engineering 28(2), 2002): leave out ever smaller parts for as long as the difference
is still there.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from host_tools.trace import HELD, NO_PULSE

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from host_tools.trace import Trace

TRIES_MOST = 600
"""Runs spent on shrinking: enough for a handful of pulses, and seconds on the slowest rung."""


def shrunk(
    trace: Trace,
    tick: int,
    differs: Callable[[Trace], int | None],
    tries_most: int = TRIES_MOST,
) -> Trace:
    """The shortest trace found for which `differs` still gives a tick.

    `tick` is where the whole trace differs. The result ends with the tick of its difference.
    """
    search = _Search(_until(trace, tick), differs, tries_most)
    _leave_out_start(search)
    _leave_out_pulses(search)
    _leave_out_readings(search)
    return _compact(search.best)


class _Search:
    """Keeps the shortest trace that still differs, within a budget of tries."""

    def __init__(self, trace: Trace, differs: Callable[[Trace], int | None], tries: int) -> None:
        self.best = trace
        self._differs = differs
        self._tries = tries

    def takes(self, candidate: Trace) -> bool:
        """Whether the candidate differs too; if so it is the best, cut behind the difference."""
        if self._tries <= 0:
            return False
        self._tries -= 1
        tick = self._differs(candidate)
        if tick is None:
            return False
        self.best = _until(candidate, tick)
        return True


def _leave_out_start(search: _Search) -> None:
    cut = search.best.ticks // 2
    while cut > 0:
        if not search.takes(_from(search.best, cut)):
            cut //= 2
        cut = min(cut, search.best.ticks // 2)


def _leave_out_pulses(search: _Search) -> None:
    def without(trace: Trace, part: NDArray[np.int64]) -> Trace:
        widths = trace.widths_half_us.copy()
        rows, channels = np.nonzero(widths)
        widths[rows[part], channels[part]] = NO_PULSE
        return replace(trace, widths_half_us=widths)

    _leave_out(search, lambda trace: int(np.count_nonzero(trace.widths_half_us)), without)


def _leave_out_readings(search: _Search) -> None:
    def without(trace: Trace, part: NDArray[np.int64]) -> Trace:
        readings = trace.readings.copy()
        rows, sensors = np.nonzero(readings != HELD)
        readings[rows[part], sensors[part]] = HELD
        return replace(trace, readings=readings)

    _leave_out(search, lambda trace: len(trace.felt[0]), without)


def _leave_out(
    search: _Search,
    count: Callable[[Trace], int],
    without: Callable[[Trace, NDArray[np.int64]], Trace],
) -> None:
    parts = 2
    while True:
        things = count(search.best)
        if parts > 2 * things:
            return
        for part in np.array_split(np.arange(things), min(parts, things)):
            if search.takes(without(search.best, part)):
                parts = max(parts - 1, 2)
                break
        else:
            parts *= 2


def _rows(trace: Trace, keep: NDArray[np.bool_], begin: int, ticks: int) -> Trace:
    return replace(
        trace,
        ticks=ticks,
        at=trace.at[keep] - begin,
        widths_half_us=trace.widths_half_us[keep],
        readings=trace.readings[keep],
    )


def _until(trace: Trace, tick: int) -> Trace:
    return _rows(trace, trace.at <= tick, 0, tick + 1)


def _from(trace: Trace, tick: int) -> Trace:
    return _rows(trace, trace.at >= tick, tick, trace.ticks - tick)


def _compact(trace: Trace) -> Trace:
    keep = trace.widths_half_us.any(axis=1) | (trace.readings != HELD).any(axis=1)
    return _rows(trace, keep, 0, trace.ticks)
