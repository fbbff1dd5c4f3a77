"""From the places at which a control stood to the bands of its positions.

Each band reaches from its place towards its neighbour's by `REACH` of the way; what lies between
two bands belongs to neither, and the hysteresis, set from the noise, lies within it. `settle` is
chosen by how often a width lay in another band than the one where the lever stood: so that within
an hour hardly ever so many of these come in a row.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.kinds import Kind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from host_tools.learn.kinds import KindFound
    from host_tools.learn.visits import Heard

HALF_US = 2
REACH = 0.42
HYSTERESIS_SD = 7.0
"""A Gaussian is further out in one of a hundred thousand million pulses: not once in a year."""

HYSTERESIS_LEAST_HALF_US = 10
SETTLE_LEAST, SETTLE_MOST = 2, 50
MISREAD_MOST = 1e-4
"""So many wrong positions may be believed in an hour, on the average."""

PHANTOM_MOST = 0.01
"""The chance of a place that is none in a whole recording."""

HOUR_US = 3_600_000_000
DEAD_BAND_SD = 5.0
DEAD_BAND_HALF_US = (8, 200)

NAMES = {
    (Kind.KEY, 3): ("down", "centre", "up"),
    (Kind.SWITCH, 2): ("off", "on"),
    (Kind.SWITCH, 3): ("low", "middle", "high"),
}


@dataclass(frozen=True)
class Bands:
    """The positions of a control: name, low and high end (whole microseconds); hysteresis (half
    microseconds), settle (pulses, or rounds), and the share of stray widths that it is made for."""

    positions: tuple[tuple[str, int, int], ...]
    rest: str
    hysteresis_half_us: int
    settle: int
    strays: float


def find_bands(
    heard: Heard,
    found: KindFound,
    within_half_us: tuple[float, float],
    channel_strays: float | None = None,
) -> Bands:
    """The bands of a key or switch; `within_half_us` are the widths that it may say at all,
    `channel_strays` the share of strays on its whole channel, if that is shared."""
    places = found.places
    names = NAMES.get((found.kind, len(places))) or tuple(
        f"position {number}" for number in range(1, len(places) + 1)
    )
    rest = names[min(range(len(places)), key=lambda one: abs(places[one] - found.rest))]
    gaps = [after - before for before, after in itertools.pairwise(places)]
    positions = []
    for number, (name, place) in enumerate(zip(names, places, strict=True)):
        outer = max(gaps[min(number, len(gaps) - 1)], gaps[max(number - 1, 0)])
        below = gaps[number - 1] if number else outer
        above = gaps[number] if number < len(gaps) else outer
        low = max(place - REACH * below, within_half_us[0])
        high = min(place + REACH * above, within_half_us[1])
        positions.append((name, math.ceil(low / HALF_US), math.floor(high / HALF_US)))
    strays = channel_strays if channel_strays is not None else stray_share(heard, positions)
    return Bands(
        tuple(positions),
        rest,
        _hysteresis(heard.noise_half_us, min(gaps)),
        settle_for(strays, HOUR_US / heard.every_us),
        strays,
    )


def _hysteresis(noise_half_us: float, gap_half_us: float) -> int:
    """As wide as the noise wants it, but no wider than half of what lies between two bands."""
    wanted = math.ceil(max(HYSTERESIS_SD * noise_half_us, HYSTERESIS_LEAST_HALF_US))
    return int(max(1, min(wanted, (1 - 2 * REACH) * gap_half_us / 2)))


def stray_share(heard: Heard, positions: list[tuple[str, int, int]]) -> float:
    """How often a width lay in another band than those before and behind it. Nothing seen counts
    as half a time: that nothing was seen in a minute promises nothing for an hour (the posterior
    mean with Jeffreys' prior, from memory)."""
    widths = heard.widths
    band = np.full(len(widths), -1)
    for number, (_, low, high) in enumerate(positions):
        band[(widths >= low * HALF_US) & (widths <= high * HALF_US)] = number
    if len(band) < 3:
        return 1.0
    other = (band[1:-1] != band[:-2]) & (band[1:-1] != band[2:]) & (band[1:-1] >= 0)
    return float((other.sum() + 0.5) / (len(band) - 1))


def strays_in_turn(said: NDArray[np.int64], tolerance_half_us: float) -> float:
    """The share of strays on a shared channel (`said`: rounds, slots). A frame that is repeated in
    the place of the next one gives a slot what the slot before it said: that can only be seen where
    the two say something else. All slots are reckoned together, as in `stray_share`."""
    if len(said) < 3:
        return 1.0

    def apart(one: NDArray[np.int64], other: NDArray[np.int64]) -> NDArray[np.bool_]:
        return np.asarray(np.abs(one - other) > tolerance_half_us)

    before, now, after = said[:-2], said[1:-1], said[2:]
    stray = apart(now, before) & apart(now, after) & ~apart(before, after)
    could = apart(before[:, 1:], now[:, :-1])
    held = stray[:, 1:] & could & ~apart(now[:, 1:], now[:, :-1])
    by_repeats = (held.sum() + 0.5) / (could.sum() + 1)
    others = (stray.sum() - held.sum() + 0.5) / (stray.size + 1)
    return float(by_repeats + others)


def in_a_row(strays: float, count: int) -> int:
    """So many strays in a row are not to be expected among `count` widths."""
    least = SETTLE_LEAST
    while least < SETTLE_MOST and count * strays**least > PHANTOM_MOST:
        least += 1
    return least


def settle_for(strays: float, an_hour: float) -> int:
    """So many widths in a row that one band has them by mistake MISREAD_MOST times an hour or less;
    `an_hour` is how many come in one."""
    settle = SETTLE_LEAST
    while settle < SETTLE_MOST and an_hour * strays**settle > MISREAD_MOST:
        settle += 1
    return settle


def dead_band_half_us(noise_half_us: float) -> int:
    """Below this a change of a stick or knob is only noise."""
    least, most = DEAD_BAND_HALF_US
    return min(max(math.ceil(DEAD_BAND_SD * noise_half_us), least), most)
