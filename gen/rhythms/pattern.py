"""A pattern: how long it is on and off in turn."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from gen.plan import MAX_TICKS, TICK_US
from gen.units import Wrong, ticks

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_PHASES = 1000
"""Two bytes of flash each."""


class Span(NamedTuple):
    """A stretch of a pattern, in microseconds."""

    on: bool
    us: int


@dataclass(frozen=True, slots=True)
class Pattern:
    """On and off in turn for `phases_ticks`, the first of which is on if `begins_on`. It begins
    again at its end if it `repeats`, else it stays off from there on."""

    phases_ticks: tuple[int, ...]
    begins_on: bool
    repeats: bool


STEADY = Pattern((1,), begins_on=True, repeats=True)
"""On for good: a single phase that follows itself."""


def pattern(spans: Iterable[Span], *, repeats: bool) -> Pattern:
    """The pattern of these stretches. Every change falls on the tick nearest to it, counted from
    the beginning, so that errors of rounding never add up and the whole is exact to a tick.

    Raises Wrong (`rhythm-rule`).
    """
    joined: list[Span] = []
    for span in spans:
        if joined and joined[-1].on == span.on:
            joined[-1] = Span(span.on, joined[-1].us + span.us)
        elif span.us:
            joined.append(span)
    if not repeats and joined and not joined[-1].on:
        joined.pop()
    if not any(span.on for span in joined):
        raise Wrong("rhythm-rule", "is never on", "at least one time on")
    if repeats and len(joined) % 2:
        both = "on" if joined[0].on else "off"
        raise Wrong(
            "rhythm-rule", f"begins and ends {both}, which would run together", "on and off in turn"
        )
    if len(joined) > MOST_PHASES:
        raise Wrong("rhythm-rule", "is too long", f"at most {MOST_PHASES} changes")
    ends = [ticks(Decimal(us)) for us in itertools.accumulate(span.us for span in joined)]
    phases = tuple(end - begin for begin, end in itertools.pairwise([0, *ends]))
    if 0 in phases:
        raise Wrong("rhythm-rule", "changes within a tick", f"at least {TICK_US // 1000} ms each")
    if max(phases) > MAX_TICKS:
        raise Wrong("rhythm-rule", "has too long a time in it", "at most 327.675 s each")
    return Pattern(phases, joined[0].on, repeats)


def seconds_text(us: int) -> str:
    """A time in seconds as people write it."""
    return f"{us / 1_000_000:.6f}".rstrip("0").rstrip(".") + " s"
