"""Makes a trace that shows a difference as short as it can.

After Zeller and Hildebrandt, "Simplifying and Isolating Failure-Inducing Input" (IEEE Transactions
on Software Engineering 28(2), 2002): leave out ever smaller parts for as long as the difference
is still there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

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
    parts = 2
    while True:
        rows, channels = np.nonzero(search.best.widths_half_us)
        if parts > 2 * len(rows):
            return
        for part in np.array_split(np.arange(len(rows)), min(parts, len(rows))):
            widths = search.best.widths_half_us.copy()
            widths[rows[part], channels[part]] = 0
            if search.takes(_with(search.best, search.best.at, widths)):
                parts = max(parts - 1, 2)
                break
        else:
            parts *= 2


def _with(trace: Trace, at: NDArray[np.int64], widths: NDArray[np.uint16], ticks: int = 0) -> Trace:
    return Trace(
        ticks or trace.ticks,
        trace.channels,
        at,
        widths,
        trace.ship,
        trace.plan_id,
        trace.source,
    )


def _until(trace: Trace, tick: int) -> Trace:
    keep = trace.at <= tick
    return _with(trace, trace.at[keep], trace.widths_half_us[keep], tick + 1)


def _from(trace: Trace, tick: int) -> Trace:
    keep = trace.at >= tick
    return _with(trace, trace.at[keep] - tick, trace.widths_half_us[keep], trace.ticks - tick)


def _compact(trace: Trace) -> Trace:
    keep = trace.widths_half_us.any(axis=1)
    return _with(trace, trace.at[keep], trace.widths_half_us[keep])
