"""Leaves out the pulses of a trace that can change no output.

A receiver says the same thing fifty times a second. A pulse is left out when the pulses before it
have already brought every control on its channel to where this one would. What it alone still
says, that the channel is alive, is told beforehand: each pulse that stays carries the tick at
which its channel will be lost.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from gen.plan import ON_ITS_OWN
from host_tools.model.streams import heard, streams_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from gen.plan import Control, Plan
    from host_tools.model.streams import Heard, Stream
    from host_tools.trace import Trace

Pulses: TypeAlias = "tuple[list[int], list[int], list[int], Iterable[int]]"
"""Ticks, inputs or streams, widths and the tick at which each pulse's channel is lost (0: not
known)."""


def thinned(plan: Plan, trace: Trace) -> Iterator[Pulses]:
    """What matters to `plan` of what its streams hear in `trace`, in order."""
    parts = []
    for number, (stream, said) in enumerate(zip(streams_of(plan), heard(plan, trace), strict=True)):
        keep = _that_matter(plan, stream, said)
        kept = said.rows[keep], said.widths[keep], said.lost_at[keep]
        parts.append((*kept, np.full(len(kept[0]), number)))
    if not parts:
        return
    rows, widths, lost_at, streams = (np.concatenate(column) for column in zip(*parts, strict=True))
    order = np.lexsort((streams, rows))
    yield (
        trace.at[rows[order]].tolist(),
        streams[order].tolist(),
        widths[order].tolist(),
        lost_at[order].tolist(),
    )


def _that_matter(plan: Plan, stream: Stream, said: Heard) -> NDArray[np.bool_]:
    """Which widths of a stream can change anything."""
    matters = said.first.copy()
    for index in stream.controls:
        control = plan.controls[index]
        matters |= ~_settled(control, said.widths, said.first)
        if control.proportional:
            moves = _moves if control.slot == ON_ITS_OWN else _moves_by_slots
            matters |= moves(said.widths, control.dead_band_half_us)
    return matters


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


def _moves_by_slots(widths: NDArray[np.uint16], dead_band_half_us: int) -> NDArray[np.bool_]:
    """Whether the value follows this width of a slot, or may follow a later one because of it. The
    value moves as far as two widths agree: one that lies, as the one before it, within the dead
    band changes nothing."""
    far = np.zeros(len(widths), dtype=bool)
    value = last = 0
    for index, width in enumerate(widths.tolist()):
        far[index] = abs(width - value) > dead_band_half_us
        low, high = min(width, last), max(width, last)
        if low > value + dead_band_half_us:
            value = low
        elif high < value - dead_band_half_us:
            value = high
        last = width
    return far | np.concatenate(([False], far[:-1]))
