"""What a thumb does to a lever: where it stands, from -1 to 1, at each time.

A move is a list of (second, place); between two of them the lever goes straight from one place to
the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.radios.radio import Lever, Thing

if TYPE_CHECKING:
    import random

Move = list[tuple[float, float]]

THROW_S = 0.04
"""A switch that is thrown is on its way for so long."""


def shown(lever: Lever, begin_s: float, dwell_s: float) -> Move:
    """Every place that it has, one after the other, each for `dwell_s`, and back to its rest."""
    places = {
        Thing.KEY: (1.0, 0.0, -1.0, 0.0, 1.0, 0.0, -1.0, 0.0),
        Thing.SWITCH_3: (1.0, -1.0, 0.0, 1.0, -1.0, lever.rest),
        Thing.SWITCH_2: (-lever.rest, lever.rest, -lever.rest, lever.rest),
        Thing.STICK: (1.0, -1.0, 0.0, 1.0, -1.0, 0.0),
        Thing.KNOB: (-1.0, 1.0, lever.rest),
    }[lever.thing]
    if lever.thing is Thing.KNOB:
        return _slowly(lever, begin_s, dwell_s * 3, places)
    if lever.thing is Thing.STICK:
        return _slowly(lever, begin_s, dwell_s, places)
    move: Move = []
    stands = lever.rest
    for number, place in enumerate(places):
        at = begin_s + number * dwell_s
        if place != stands:
            move += [(at, stands), (at + THROW_S * abs(place - stands) / 2, place)]
        stands = place
    return move


def shown_lasts_s(lever: Lever, dwell_s: float) -> float:
    """How long `shown` takes."""
    each = {
        Thing.KEY: 8,
        Thing.SWITCH_3: 6,
        Thing.SWITCH_2: 4,
        Thing.STICK: 6,
        Thing.KNOB: 9,
    }
    return each[lever.thing] * dwell_s


def _slowly(lever: Lever, begin_s: float, each_s: float, places: tuple[float, ...]) -> Move:
    """On its way for the first two thirds of each stretch."""
    move: Move = []
    stands = lever.rest
    for number, place in enumerate(places):
        at = begin_s + number * each_s
        move += [(at, stands), (at + 2 * each_s / 3, place)]
        stands = place
    return move


def at_work(lever: Lever, ends_s: float, hold_s: float, dice: random.Random) -> Move:
    """An hour of ordinary use: held for `hold_s` at least, then at rest for as long."""
    move: Move = []
    at, stands = hold_s, lever.rest
    while at < ends_s:
        if stands != lever.rest and lever.thing in (Thing.KEY, Thing.STICK):
            place = lever.rest
        elif lever.thing is Thing.SWITCH_2:
            place = -stands
        elif lever.thing is Thing.KNOB:
            place = dice.uniform(-1, 1)
        else:
            place = dice.choice([one for one in (-1.0, 0.0, 1.0) if one != stands])
        slow = 0.3 if lever.thing in (Thing.STICK, Thing.KNOB) else THROW_S
        move += [(at, stands), (at + slow, place)]
        stands = place
        at += slow + hold_s * dice.uniform(1, 8)
    return move
