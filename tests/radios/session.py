"""A minute with a radio, as the guidance asks for it, and an hour behind it."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from tests.radios.put_out import Played
from tests.radios.thumbs import at_work, shown, shown_lasts_s

if TYPE_CHECKING:
    from tests.radios.radio import Lever, Radio

STILL_S = 6.0
OFF_S = 7.0
DWELL_FRAMES = 12
CYCLES = 4
"""So many cycles of a box each place of a lever is held."""


def levers_of(radio: Radio) -> list[Lever]:
    """All levers, those on channels of their own first."""
    own = [one.lever for one in radio.own if one.lever is not None]
    return [*own, *(radio.box.levers if radio.box is not None else ())]


def dwell_s(radio: Radio, lever: Lever) -> float:
    """How long each place of a lever is held, so that it is seen."""
    in_box = radio.box is not None and lever in radio.box.levers
    return max(0.6, CYCLES * radio.cycle_s if in_box else DWELL_FRAMES * radio.frame_us / 1e6)


def minute(
    radio: Radio, lasts_s: float = 60.0
) -> tuple[Played, list[tuple[str, str, float, float]]]:
    """Everything still, then one lever after another as long as there is time (the levers of the
    box beside those with a channel of their own), then the transmitter off. And the steps: what,
    whose, from, to."""
    played = Played(radio, lasts_s, off_s=lasts_s - OFF_S + 1.0)
    steps = [("still", "", 0.0, STILL_S)]
    at = STILL_S
    for lever in levers_of(radio):
        each = dwell_s(radio, lever)
        takes = shown_lasts_s(lever, each) + 2 * each
        if at + takes > lasts_s - OFF_S:
            continue
        played.moves[lever.name] = shown(lever, at + each, each)
        steps.append(("move", lever.name, at, at + takes))
        at += takes
    steps.append(("off", "", lasts_s - OFF_S, lasts_s))
    return played, steps


def hour(radio: Radio, lasts_s: float = 3600.0, hold: float = 12) -> Played:
    """The same radio at work, every press long enough to be seen: `hold` cycles, or frames."""
    dice = random.Random(radio.seed + 1)
    played = Played(radio, lasts_s, seed=1)
    for lever in levers_of(radio):
        in_box = radio.box is not None and lever in radio.box.levers
        hold_s = max(0.5, hold * (radio.cycle_s if in_box else radio.frame_us / 1e6))
        played.moves[lever.name] = at_work(lever, lasts_s, hold_s, dice)
    return played
