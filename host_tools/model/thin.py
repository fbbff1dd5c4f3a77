"""Leaves out the pulses of a trace that can change no output.

A receiver says the same thing fifty times a second. A pulse is left out when the pulses before it
have already brought every control on its channel to where this one would. What it alone still
says, that the channel is alive, is told beforehand: each pulse that stays carries the tick at
which its channel will be lost.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from host_tools.model.receiver import GOOD, pulse_verdicts

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from gen.plan import Channel, Control, Plan
    from host_tools.trace import Trace

Pulses: TypeAlias = "tuple[list[int], list[int], list[int], Iterable[int]]"
"""Ticks, channels, widths and the tick at which each pulse's channel is lost (0: not known)."""


def thinned(plan: Plan, trace: Trace) -> Iterator[Pulses]:
    """The pulses of `trace` that matter to `plan`, in order."""
    parts = []
    for index, channel in enumerate(plan.channels):
        controls = [control for control in plan.controls if control.channel == index]
        rows, lost_at = _that_matter(channel, controls, trace, trace.widths_half_us[:, index])
        parts.append((rows, np.full(len(rows), index), lost_at))
    if not parts:
        return
    rows, channels, lost_at = (np.concatenate(columns) for columns in zip(*parts, strict=True))
    order = np.lexsort((channels, rows))
    rows, channels = rows[order], channels[order]
    yield (
        trace.at[rows].tolist(),
        channels.tolist(),
        trace.widths_half_us[rows, channels].tolist(),
        lost_at[order].tolist(),
    )


def _that_matter(
    channel: Channel, controls: list[Control], trace: Trace, column: NDArray[np.uint16]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Rows of the pulses of one channel that matter, and when the channel will be lost."""
    rows = np.flatnonzero(column)
    rows = rows[pulse_verdicts(channel)[column[rows]] == GOOD]
    widths, at = column[rows], trace.at[rows]
    silent = np.diff(at) > channel.lost_after_ticks
    first = np.concatenate(([True], silent))[: len(rows)]
    last = np.concatenate((silent, [True]))[-len(rows) :] if len(rows) else first
    spell = np.cumsum(first) - 1
    lost_at = (at[last] + channel.lost_after_ticks)[spell]
    matters = np.zeros(len(rows), dtype=bool)
    for control in controls:
        matters |= ~_settled(control, widths, first)
        if control.proportional:
            matters |= _moves(widths, control.dead_band_half_us)
    return rows[matters], lost_at[matters]


def _settled(
    control: Control, widths: NDArray[np.uint16], first: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Whether as many pulses as it takes to settle, all of one kind with this one, went before."""
    # Two widths between the same neighbouring edges are never told apart.
    margin = control.hysteresis_half_us
    edges = {
        edge + reach
        for position in control.positions
        for edge in (position.low_half_us, position.high_half_us + 1)
        for reach in (-margin, 0, margin)
    }
    kind = np.searchsorted(np.array(sorted(edges)), widths, side="right")
    fresh = first.copy()
    fresh[1:] |= kind[1:] != kind[:-1]
    index = np.arange(len(widths))
    since = index - np.maximum.accumulate(np.where(fresh, index, 0))
    return since >= control.settle_pulses


def _moves(widths: NDArray[np.uint16], dead_band_half_us: int) -> NDArray[np.bool_]:
    """Whether the control's value follows this pulse."""
    moves = np.zeros(len(widths), dtype=bool)
    value = 0
    low, high = value - dead_band_half_us, value + dead_band_half_us
    for index, width in enumerate(widths.tolist()):
        if width < low or width > high:
            moves[index] = True
            low, high = width - dead_band_half_us, width + dead_band_half_us
    return moves
