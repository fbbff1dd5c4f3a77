"""A sum signal: all channels one after another on one wire, with a longer pause behind the last.

What is heard is either the time from edge to edge, as a ship with a sum signal records it, or, from
a file of raw edges, both levels. One level of it, the separator, is always equally long; the edge
with which it begins is the one to measure from.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.finding import WRONG_MOST
from host_tools.learn.statistics import MOST_OF_A_WRONG_LENGTH, binomial_tail
from host_tools.learn.train import Train

if TYPE_CHECKING:
    from numpy.typing import NDArray

HALF_US = 2
PLACES_LEAST, PLACES_MOST = 2, 18
FRAMES_LEAST = 20
OFTEN = 0.1
WIDEST_US = 2300
"""What a ship file takes for a pulse unless it says otherwise: the gap is longer."""

GAP_MOST_US = 5000
"""The longest gap that a ship file can ask for."""


@dataclass(frozen=True, eq=False)
class SumFound:
    """`places` channels, parted by pauses of `gap_us` or more. `falling`: None where the recording
    has only one kind of edge. `whole_share` of its frames have that many places."""

    name: str
    places: int
    gap_us: int
    widest_us: float
    shortest_gap_us: float
    falling: bool | None
    separator_us: float
    whole_share: float
    frames: int
    is_clear: bool


def is_sum(widths: NDArray[np.int64]) -> bool:
    """Whether these times between edges are those of a sum signal."""
    limit = _gap_limit(widths)
    return limit is not None and _counted(widths, limit) is not None


def find_sum(
    name: str, widths: NDArray[np.int64], falling: bool | None = None, separator_us: float = 0.0
) -> SumFound:
    """What it consists of; `widths` are times between two edges of one kind (half microseconds).
    Raises ValueError if it is none."""
    limit = _gap_limit(widths)
    counted = _counted(widths, limit) if limit is not None else None
    if limit is None or counted is None:
        raise ValueError(f"{name} is no sum signal")
    places, right, frames = counted
    widest = float(widths[widths < limit].max()) / HALF_US
    shortest = float(np.quantile(widths[widths >= limit], 0.01)) / HALF_US
    least = max(widest, WIDEST_US)
    gap = round((least + min(max(shortest, least), GAP_MOST_US)) / 2)
    return SumFound(
        name=name,
        places=places,
        gap_us=min(max(gap, math.ceil(least) + 1), GAP_MOST_US),
        widest_us=widest,
        shortest_gap_us=shortest,
        falling=falling,
        separator_us=separator_us,
        whole_share=right / frames,
        frames=frames,
        is_clear=binomial_tail(frames, right, MOST_OF_A_WRONG_LENGTH) <= WRONG_MOST
        and shortest > least,
    )


def trains_of(found: SumFound, column: Train) -> list[Train]:
    """Each place's pulses, out of the frames that have as many places as there are."""
    ends = np.flatnonzero(column.widths >= found.gap_us * HALF_US)
    starts = np.concatenate(([0], ends[:-1] + 1))
    good = ends - starts == found.places
    at, starts = column.at[ends[good]], starts[good]
    return [
        Train(f"{found.name} {place + 1}", at, column.widths[starts + place])
        for place in range(found.places)
    ]


def from_edges(
    name: str, at_us: NDArray[np.float64], levels: NDArray[np.bool_]
) -> tuple[SumFound, Train] | None:
    """From raw edges: when they were and which level follows each. None if it is no sum signal."""
    times = np.diff(at_us)
    high, low = times[levels[:-1]], times[~levels[:-1]]
    if min(len(high), len(low)) < FRAMES_LEAST:
        return None
    separator_high = _reach(high) < _reach(low)
    begins = at_us[levels == separator_high]
    widths = np.minimum(np.round(np.diff(begins) * HALF_US), 0xFFFF).astype(np.int64)
    if not is_sum(widths):
        return None
    separator = high if separator_high else low
    found = find_sum(name, widths, not separator_high, float(np.median(separator)))
    return found, Train(name, (begins[1:] / 5000).astype(np.int64), widths)


def _reach(times: NDArray[np.float64]) -> float:
    """How many times as long as the shortest the longest is, but for a hundredth either way."""
    shortest, longest = np.quantile(times, (0.01, 0.99))
    return float(longest) / max(float(shortest), 1e-3)


def _gap_limit(widths: NDArray[np.int64]) -> float | None:
    """The middle of the widest stretch, by ratio, that no time lies in: pauses are longer than it,
    places shorter."""
    if len(widths) < FRAMES_LEAST * PLACES_LEAST:
        return None
    ordered = np.unique(widths[widths > 0])
    upper = ordered[ordered >= np.quantile(widths, 0.3)]
    if len(upper) < 2:
        return None
    ratio = upper[1:] / upper[:-1]
    best = int(np.argmax(ratio))
    if upper[best + 1] < WIDEST_US * HALF_US:
        return None
    return float(upper[best] + upper[best + 1]) / 2


def _counted(widths: NDArray[np.int64], limit: float) -> tuple[int, int, int] | None:
    """How many places a frame has, how many frames have so many, and how many frames there are."""
    ends = np.flatnonzero(widths >= limit)
    if len(ends) < FRAMES_LEAST:
        return None
    counted = Counter((np.diff(ends) - 1).tolist())
    # Places are lost more easily than made: the largest count that is no rarity is the right one.
    usual = [places for places, often in counted.items() if often >= OFTEN * (len(ends) - 1)]
    places = max(usual, default=0)
    if not PLACES_LEAST <= places <= PLACES_MOST:
        return None
    return int(places), counted[places], len(ends) - 1
