"""Random forces: what looks for trouble where the bench puts functions into states."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import NO_FORCE, force_of

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator

    from gen.plan import Plan


def random_forces(plan: Plan, ticks: int, draw: random.Random) -> Iterator[tuple[int, int]]:
    """(tick, reading of the force): forces that are over at once, that outlast limits and timers,
    that follow each other with and without a tick between, and a few of what does not exist."""
    at = draw.choice((0, 1, 100, 2_000))
    function = draw.randrange(len(plan.functions))
    while at < ticks:
        if draw.random() < 0.6:
            function = draw.randrange(len(plan.functions))
        for _ in range(draw.choice((1, 1, 2, 4))):
            if at >= ticks:
                return
            yield at, _force(plan, function, draw)
            at += draw.choice((1, 2, 3, 10, 60, 60, 300, 300, 2_000))
        if at < ticks and draw.random() < 0.8:
            yield at, NO_FORCE
            at += draw.choice((1, 1, 2, 20, 300, 1_000, 4_000))


def _force(plan: Plan, function: int, draw: random.Random) -> int:
    most = len(plan.functions[function].forces)
    chance = draw.random()
    if chance < 0.02:
        return force_of(function, draw.choice((most, 255)))
    if chance < 0.03:
        return force_of(draw.choice((len(plan.functions), 200)), 0)
    if chance < 0.035:
        return draw.randint(1, 255)
    return force_of(function, draw.randrange(most))
