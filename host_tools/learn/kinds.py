"""What kind of control was heard: a key that springs back, a switch that stays, a stick, a knob.

What tells a switch from a stick is whether anything lies between the places at which it stood: a
thrown switch shows one width between two of them, or two. What tells a key from a switch is where
it goes from its ends: a key always by its middle, where it stands.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from host_tools.learn.finding import Sure

if TYPE_CHECKING:
    from host_tools.learn.visits import Heard, Visit

THROW_US = 70_000
HAND_US = 100_000
"""A switch is thrown in less than the one, a thumb takes more than the other from end to end
(common practice, no source). What lies between the two is not sure."""

THROW_MOST, HAND_LEAST = 2, 3
"""The same in widths that were heard on the way."""

GAP_MOST = 0.5
"""A way is known if no round was missed on it."""

HIDES = 2.5
"""So many missed rounds in a row may have hidden a place."""

AGAIN = "move it to each of its ends once more"
LET_GO = "throw it to an end and let go: a switch that stays there goes from end to end at once"

MOST_PLACES = 6
CENTRE = (0.4, 0.6)
"""Where within its travel a stick rests that springs back."""

MIDDLE = (0.25, 0.75)
"""Where within its travel the middle position of a lever lies."""


class Kind(Enum):
    """Kinds of control, named as in the ship file; UNMOVED is none that it has."""

    KEY = "key"
    SWITCH = "switch"
    STICK = "stick"
    KNOB = "knob"
    UNMOVED = "unmoved"


@dataclass(frozen=True)
class KindFound:
    """`places` (half microseconds) are a key's or a switch's positions in rising order, or the two
    ends of a stick or knob; `rest` is where it rests."""

    kind: Kind
    places: tuple[float, ...]
    rest: float
    sure: Sure
    evidence: str
    surer: str = ""


def find_kind(heard: Heard, travel: tuple[float, float] | None) -> KindFound:
    """What was heard. `travel` are the widths that the transmitter's levers reach."""
    visits = heard.visits
    if len(visits) < 2 or len({visit.level for visit in visits}) < 2:
        return _unmoved(heard)
    # Of a few rounds a stray is soon the median: there every way has to be long.
    on_way = float(np.quantile(heard.on_its_way, 0.0 if heard.in_slot else 0.3))
    took_us = on_way * heard.every_us
    if on_way >= HAND_LEAST and took_us >= HAND_US:
        return _continuous(heard)
    if len(heard.levels) > MOST_PLACES:
        return _continuous(heard)
    if on_way > THROW_MOST and took_us > THROW_US:
        found = _continuous(heard)
        return KindFound(
            found.kind,
            found.places,
            found.rest,
            Sure.NOT_SURE,
            f"it was on its way for {took_us / 1000:.0f} ms, longer than a switch and shorter than "
            "a stick",
            "move it slowly from end to end if it has anything between, else throw it quickly",
        )
    return _switched(heard, travel)


def doubted(found: KindFound, doubt: str, surer: str) -> KindFound:
    """The same, but not sure."""
    return replace(
        found, sure=Sure.NOT_SURE, evidence=f"{found.evidence}; but {doubt}", surer=surer
    )


def _unmoved(heard: Heard) -> KindFound:
    stands = float(np.median(heard.widths)) if len(heard.widths) else 0.0
    return KindFound(
        Kind.UNMOVED,
        (stands,),
        stands,
        Sure.NOT_SURE,
        f"it stood at {stands / 2:.0f} us in all of {len(heard.widths)} widths",
        "move it to each of its ends twice and let go in between",
    )


def _resting_level(visits: tuple[Visit, ...], heard: Heard) -> int:
    """The level that it goes back to: where it begins and ends, else where it stands longest."""
    if visits[0].level == visits[-1].level:
        return visits[0].level
    stood = [0] * len(heard.levels)
    for visit in visits:
        stood[visit.level] += visit.last - visit.first + 1
    return stood.index(max(stood))


def _continuous(heard: Heard) -> KindFound:
    """A stick or a knob."""
    visits = heard.visits
    rest_level = _resting_level(visits, heard)
    ends = tuple(float(one) for one in np.quantile(heard.widths, (0.002, 0.998)))
    low, high = heard.levels[0].centre, heard.levels[-1].centre
    low = min(low, ends[0]) if low - ends[0] > heard.tolerance_half_us else low
    high = max(high, ends[1]) if ends[1] - high > heard.tolerance_half_us else high
    rest = heard.levels[rest_level].centre
    returns = sum(visit.level == rest_level for visit in visits)
    inside = CENTRE[0] < (rest - low) / max(high - low, 1) < CENTRE[1]
    is_stick = inside and returns >= 3
    on_way = float(np.median(heard.on_its_way))
    evidence = f"{on_way:.0f} widths were heard on its way from place to place"
    if is_stick:
        evidence += f", and it came back to {rest / 2:.0f} us {returns - 1} times"
    else:
        evidence += ", and it stayed where it was put"
    found = KindFound(
        Kind.STICK if is_stick else Kind.KNOB,
        (low, high),
        rest,
        Sure.SURE if is_stick or returns < 3 else Sure.LIKELY,
        evidence,
    )
    if inside and not is_stick:
        return doubted(found, "it rests in its middle, as a stick does that was let go", AGAIN)
    if heard.in_slot and heard.gaps.max() >= HIDES:
        return doubted(found, "its ends may have been missed between two rounds", AGAIN)
    return found


def _switched(heard: Heard, travel: tuple[float, float] | None) -> KindFound:
    """A key or a switch."""
    visits = heard.visits
    places = tuple(level.centre for level in heard.levels)
    rest_level = _resting_level(visits, heard)
    stood = [sum(visit.level == level for visit in visits) for level in range(len(places))]
    # A middle that was passed once is a middle; in a slot it may be two strays in a row.
    often = min(stood if heard.in_slot else (stood[0], stood[-1]))
    said = ", ".join(f"{place / 2:.0f}" for place in places)
    evidence = f"it stood at {said} us and nowhere between, at its ends {often} times or more"
    sure = Sure.SURE if often >= 2 else Sure.NOT_SURE
    if len(places) == 2:
        return _of_two(heard, travel, evidence, sure)
    if len(places) > 3:
        return KindFound(Kind.SWITCH, places, places[rest_level], sure, evidence, _again(sure))
    ways = list(zip(visits[:-1], visits[1:], (heard.gaps < GAP_MOST).tolist(), strict=True))
    across = sum({before.level, after.level} == {0, 2} for before, after, seen in ways if seen)
    back = [
        out[1].level
        for out, home in itertools.pairwise(ways)
        if out[0].level == home[1].level == 1 and out[2] and home[2]
    ]
    if across and not back:
        evidence += f"; it went from end to end {across} times without a stop"
        return KindFound(Kind.SWITCH, places, places[rest_level], sure, evidence, _again(sure))
    if rest_level == 1 and len(back) >= 2 and set(back) == {0, 2} and not across:
        evidence += f"; it came back to its middle each of {len(back)} times, by itself or by hand"
        likely = Sure.LIKELY if sure is Sure.SURE else sure
        return KindFound(Kind.KEY, places, places[1], likely, evidence, LET_GO)
    return KindFound(
        Kind.KEY if rest_level == 1 else Kind.SWITCH,
        places,
        places[rest_level],
        Sure.NOT_SURE,
        evidence,
        "throw it from end to end twice and let go in between",
    )


def _of_two(
    heard: Heard, travel: tuple[float, float] | None, evidence: str, sure: Sure
) -> KindFound:
    low, high = (level.centre for level in heard.levels)
    between = heard.widths[
        (heard.widths > low + (high - low) / 4) & (heard.widths < high - (high - low) / 4)
    ]
    if heard.in_slot and (len(between) or heard.gaps.max() >= HIDES):
        sure = Sure.NOT_SURE
        evidence += "; but a third place may have been missed between two rounds"
    rest = (low, high)[_resting_level(heard.visits, heard)]
    if travel is not None:
        reach = max(travel[1] - travel[0], 1)
        for place in (low, high):
            if MIDDLE[0] < (place - travel[0]) / reach < MIDDLE[1]:
                return KindFound(
                    Kind.SWITCH,
                    (low, high),
                    rest,
                    Sure.NOT_SURE,
                    f"{evidence}; {place / 2:.0f} us is in the middle of what levers reach, so "
                    "that it may have a third position",
                    "move it to both of its ends",
                )
    return KindFound(Kind.SWITCH, (low, high), rest, sure, evidence, _again(sure))


def _again(sure: Sure) -> str:
    return "" if sure is Sure.SURE else AGAIN
