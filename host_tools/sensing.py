"""Random readings of sensors: what looks for trouble in filters, thresholds and debouncing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import MOST_COUNTS, DigitalSensor, Felt

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

    from gen.plan import Plan


def random_readings(
    plan: Plan, index: int, ticks: int, draw: random.Random
) -> Iterator[tuple[int, int]]:
    """(tick, reading) of one sensor, where it changes."""
    sensor = plan.sensors[index]
    if isinstance(sensor, DigitalSensor):
        return _bounces(sensor, ticks, draw)
    return _voltages(plan, index, ticks, draw)


def _bounces(sensor: DigitalSensor, ticks: int, draw: random.Random) -> Iterator[tuple[int, int]]:
    """Changes that last about as long as it takes to be believed, single glitches, long rests."""
    at = 0
    level = draw.randint(0, 1)
    while at < ticks:
        yield at, level
        level = 1 - level
        near = sensor.debounce_ticks + draw.choice((-2, -1, -1, 0, 0, 1))
        at += max(1, draw.choice((1, near, near, 40, 300, 2_000)))


def _voltages(plan: Plan, index: int, ticks: int, draw: random.Random) -> Iterator[tuple[int, int]]:
    edges = [0, 1, MOST_COUNTS - 1, MOST_COUNTS]
    recoveries = [stage.above for stage in plan.stages if stage.above.sensor == index]
    for felt in [*asked_of(plan, index), *recoveries]:
        edges += [edge + by for edge in (felt.low, felt.high) for by in (-1, 0, 1)] * 3
    levels = [min(max(edge, 0), MOST_COUNTS) for edge in edges]
    at = 0
    level = draw.choice(levels)
    while at < ticks:
        lasts = draw.choice((1, 2, 5, 50, 300, 2_000))
        step, jitter = draw.choice(((0, 0), (0, 0), (0, 1), (0, 20), (1, 0), (-1, 3), (7, 0)))
        level = draw.choice(levels) if draw.random() < 0.7 else draw.randint(0, MOST_COUNTS)
        if not step and not jitter:
            yield at, level
            at += lasts
            continue
        for _ in range(min(lasts, 300)):
            if at >= ticks:
                return
            level = min(max(level + step, 0), MOST_COUNTS)
            yield at, min(max(level + draw.randint(-jitter, jitter), 0), MOST_COUNTS)
            at += 1


def rest_reading(plan: Plan, index: int) -> int:
    """The smallest reading of a sensor at which nothing that is asked of it is so; its smallest of
    all, an open contact, if there is none. A battery's is the one at which it recovers."""
    sensor = plan.sensors[index]
    asked = asked_of(plan, index)
    good = [one.above for one in plan.stages if one.above.sensor == index]
    if good:  # a battery begins as good as it must be to recover
        return max(one.low for one in good)
    values = range(2) if isinstance(sensor, DigitalSensor) else range(MOST_COUNTS + 1)
    value = next((v for v in values if not any(one.low <= v <= one.high for one in asked)), 0)
    return level_of(sensor, value) if isinstance(sensor, DigitalSensor) else value


def level_of(sensor: DigitalSensor, closed: int) -> int:
    """The pin's level for a contact that is closed (1) or open (0)."""
    return 1 - closed if sensor.active_low else closed


def asked_of(plan: Plan, index: int) -> list[Felt]:
    """Everything that is asked of one sensor."""
    every = [one for function in plan.functions for one in function.conditions]
    every += [stage.below for stage in plan.stages]
    return [one for one in every if isinstance(one, Felt) and one.sensor == index]
