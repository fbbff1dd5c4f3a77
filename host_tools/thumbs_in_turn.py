"""Random thumbs on what comes one after another: shared channels and sum signals.

What is drawn besides positions and their edges: frames that are dropped, repeated, swapped or put
in another's place, markers that come too early or not at all, receivers that freeze, wrong counts,
widths that no channel can say, gaps at the edge of being one, and silence.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from gen.plan import HALF_US_PER_US, NOTHING_THERE, TICK_US

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Sequence

    from gen.plan import Plan, Sharing, SumSignal

TICK_HALF_US = TICK_US * HALF_US_PER_US

FRAME_TICKS = (1, 2, 3, 4, 4, 4, 5)
"""Frame periods to draw from: 5 to 25 ms, most often 20."""

SHORTEST_HALF_US = 200
"""No two edges of a sum signal are nearer than this: 100 us."""

SILENCE_HALF_US = 0xFFFF
"""What a board makes of a sum signal's silence."""

FRAME_PERIODS_HALF_US = (36_000, 40_000, 40_000, 40_000, 44_000, 45_000, 50_000)
"""From 18 to 25 ms, most often 20: eight channels at their longest leave room for a gap."""


def shared_pulses(
    plan: Plan,
    index: int,
    interesting: Sequence[int],
    ticks: int,
    draw: random.Random,
) -> Iterator[tuple[int, int]]:
    """(tick, width) for one shared channel with a pin of its own."""
    channel = plan.channels[index]
    said = shared_widths(plan, index, interesting, draw)
    at = draw.randrange(8)
    while at < ticks:
        frame = draw.choice(FRAME_TICKS)
        mood = draw.random()
        if mood < 0.06:  # silence, around the time that the channel bears
            at += channel.lost_after_ticks + draw.choice((-2, -1, 0, 1, 2, 30, 400))
            continue
        frozen = draw.choice(interesting) if mood < 0.1 else 0
        for _ in range(draw.choice((5, 20, 60, 200))):
            if at >= ticks:
                return
            yield at, frozen or next(said)
            at += frame


def shared_widths(
    plan: Plan, index: int, interesting: Sequence[int], draw: random.Random
) -> Iterator[int]:
    """What a shared channel puts out, frame by frame and without an end."""
    sharing = plan.channels[index].sharing
    if sharing is None:
        raise ValueError(f"{plan.channels[index].name} is not shared")
    slots = [draw.choice(interesting) for _ in range(sharing.slots)]
    while True:
        for slot in range(sharing.slots):
            if draw.random() < 0.1:
                slots[slot] = draw.choice(interesting)
        cycle = _cycle(sharing, slots)
        for _ in range(draw.choice((1, 2, 2, 3, 5, 12))):
            yield from _spoilt(cycle, interesting, draw) if draw.random() < 0.12 else cycle


def _cycle(sharing: Sharing, slots: list[int]) -> list[int]:
    marker = sum(sharing.marker_half_us) // 2
    return [width for width in (marker, *slots) for _ in range(sharing.frames_per_slot)]


def _spoilt(good: list[int], interesting: Sequence[int], draw: random.Random) -> list[int]:
    """The same with one or two things wrong."""
    row = list(good)
    for _ in range(draw.choice((1, 1, 2))):
        place = draw.randrange(len(row))
        match draw.randrange(7):
            case 0:
                del row[place]
            case 1:
                row.insert(place, row[place])
            case 2:
                row[place - 1], row[place] = row[place], row[place - 1]
            case 3:
                row[place] = row[place - 1]
            case 4:
                row[place] = good[0]
            case 5:
                row.insert(place, good[0])
            case _:
                row[place] = draw.choice(interesting)
    return row


def sum_intervals(
    plan: Plan,
    described: SumSignal,
    interesting: dict[int, list[int]],
    ticks: int,
    draw: random.Random,
) -> Iterator[tuple[int, int]]:
    """(tick, time between two edges) for the sum signal; `interesting` widths by channel."""
    places = [_place_widths(plan, index, interesting, draw) for index in described.channels]
    now = draw.randrange(8) * TICK_HALF_US
    for silent, width in _edge_to_edge(places, described, draw):
        interval = min(max(width, SHORTEST_HALF_US), SILENCE_HALF_US - 1)
        now += silent or interval
        if now >= ticks * TICK_HALF_US:
            return
        yield now // TICK_HALF_US, SILENCE_HALF_US if silent else interval


def _edge_to_edge(
    places: list[Iterator[int]], described: SumSignal, draw: random.Random
) -> Iterator[tuple[int, int]]:
    """(how long a silence was, or 0; else the time between two edges), without an end."""
    while True:
        period = draw.choice(FRAME_PERIODS_HALF_US)
        for _ in range(draw.choice((1, 3, 20, 100))):
            frame = _frame(places, described, draw)
            for width in frame:
                yield 0, width
            gap = described.gap_half_us + draw.choice((-1, 0, 0, 1))
            yield 0, max(period - sum(frame), gap)
        if draw.random() < 0.2:
            yield draw.choice((4, 20, 60, 80, 400)) * TICK_HALF_US, 0


def _frame(places: list[Iterator[int]], described: SumSignal, draw: random.Random) -> list[int]:
    widths = [next(place) for place in places]
    if draw.random() > 0.1:
        return widths
    gap, (low, high) = described.gap_half_us, described.valid_half_us
    for _ in range(draw.choice((1, 1, 2))):
        place = draw.randrange(len(widths))
        match draw.randrange(5):
            case 0 if len(widths) > 1:
                del widths[place]
            case 1:
                widths.insert(place, widths[place])
            case 2:
                widths[place] = draw.choice((low - 1, low, high, high + 1, gap - 1, gap, 400))
            case 3:
                widths[place - 1], widths[place] = widths[place], widths[place - 1]
            case _:
                widths[place] += widths[place - 1]
    return widths


def _place_widths(
    plan: Plan, index: int, interesting: dict[int, list[int]], draw: random.Random
) -> Iterator[int]:
    """What one place of the sum signal says, frame by frame."""
    if index == NOTHING_THERE:
        return itertools.repeat(3_000)
    if plan.channels[index].sharing is not None:
        return shared_widths(plan, index, interesting[index], draw)
    return _held_widths(interesting[index], draw)


def _held_widths(interesting: Sequence[int], draw: random.Random) -> Iterator[int]:
    while True:
        width = draw.choice(interesting)
        step = draw.choice((0, 0, 0, 0, -40, -3, 3, 40))
        for _ in range(draw.choice((1, 2, 3, 5, 20, 60))):
            yield width
            width = max(width + step, 1)
