"""What a channel does once the transmitter is off, and the settings that catch it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.finding import Sure

if TYPE_CHECKING:
    from host_tools.learn.train import Train

LATE = 0.4
"""What counts is what comes after this share of the time for which the transmitter was off: a hand
takes its time, and so do receivers."""

BEFORE_TICKS = 100
LAST = 9
"""What its lever said last is the middle one of so many pulses."""

FROZEN_SD = 8.0
GRAIN_HALF_US = 4
APART_HALF_US = 60
"""A lost band is told from what levers say by 30 us at least."""


class Loss(Enum):
    """What the receiver does when the signal goes."""

    SILENT = "falls silent"
    HOLDS = "goes on with its last pulse"
    PRESET = "goes to a width of its own"
    ALIVE = "goes on as before"
    UNKNOWN = "nobody knows"


@dataclass(frozen=True)
class LossFound:
    """`lost_below_us` and `lost_above_us` (0: none) catch it; `is_caught` says whether anything
    does, that or the channel's silence."""

    loss: Loss
    width_half_us: float
    lost_below_us: int
    lost_above_us: int
    is_caught: bool
    sure: Sure
    evidence: str
    surer: str = ""


NOT_RECORDED = LossFound(
    Loss.UNKNOWN,
    0.0,
    0,
    0,
    False,
    Sure.NOT_SURE,
    "the recording has no step in which the transmitter is off",
    "record on while you switch the transmitter off for five seconds",
)


def find_loss(
    train: Train,
    off: tuple[int, int],
    said: tuple[float, float],
    valid: tuple[int, int],
    *,
    noise_half_us: float,
    shared: bool,
) -> LossFound:
    """`off` are the ticks in which the transmitter was off, `said` the widths that were heard while
    it was on, with `noise_half_us`, `valid` those that are pulses at all; half microseconds."""
    begin, end = off
    late = train.part(begin + round(LATE * (end - begin)), end)
    before = train.part(begin - BEFORE_TICKS, begin)
    if len(late) <= 1:
        return LossFound(
            Loss.SILENT, 0.0, 0, 0, True, Sure.SURE, "no pulse came while the transmitter was off"
        )
    width = float(np.median(late.widths))
    noise = max(1.0, float(np.median(np.abs(late.widths - width))) * 1.5)
    noise = min(noise, 2 * noise_half_us + 1)
    frozen = np.mean(np.abs(late.widths - width) <= FROZEN_SD * noise + GRAIN_HALF_US) > 0.95
    if not frozen:
        return _alive()
    if shared:
        return _frozen_in_turn(width)
    near = FROZEN_SD * max(noise, noise_half_us / 2) + GRAIN_HALF_US
    holds = len(before) > 0 and abs(float(np.median(before.widths[-LAST:])) - width) <= near
    return _frozen(width, said, valid, holds=holds)


def _alive() -> LossFound:
    return LossFound(
        Loss.ALIVE,
        0.0,
        0,
        0,
        False,
        Sure.NOT_SURE,
        "its pulses changed on while the transmitter was said to be off",
        "record again, and leave the transmitter off for five seconds",
    )


def _frozen_in_turn(width: float) -> LossFound:
    return LossFound(
        Loss.HOLDS,
        width,
        0,
        0,
        True,
        Sure.SURE,
        f"it repeated {width / 2:.0f} us for as long as the transmitter was off; with no round "
        "that fits, the channel is lost by itself",
    )


def _frozen(
    width: float, said: tuple[float, float], valid: tuple[int, int], *, holds: bool
) -> LossFound:
    loss = Loss.HOLDS if holds else Loss.PRESET
    evidence = f"it stood at {width / 2:.0f} us for as long as the transmitter was off"
    if not valid[0] <= width <= valid[1]:
        return LossFound(loss, width, 0, 0, True, Sure.SURE, f"{evidence}, which is no valid pulse")
    below, above = said[0] - width, width - said[1]
    if max(below, above) >= APART_HALF_US:
        half_way = round((width + (said[0] if below > above else said[1])) / 4)
        told = f"{evidence}; levers reach {said[0] / 2:.0f} to {said[1] / 2:.0f} us"
        if below > above:
            return LossFound(loss, width, half_way, 0, True, Sure.SURE, told)
        return LossFound(loss, width, 0, half_way, True, Sure.SURE, told)
    return LossFound(
        loss,
        width,
        0,
        0,
        False,
        Sure.LIKELY if holds else Sure.SURE,
        f"{evidence}, where its lever can stand as well: nothing tells the one from the other",
        "set the receiver's failsafe to a width that no lever reaches, such as 900 us, and record "
        "again",
    )
