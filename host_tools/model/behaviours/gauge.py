"""What a function counts just now, for people who watch it."""

from __future__ import annotations

from typing import Final, NamedTuple

NOT_KNOWN: Final = -1


class Gauge(NamedTuple):
    """`what` is counted, in words ("on for", "pause"); `left_ticks` are left of `of_ticks`,
    NOT_KNOWN where that is so."""

    what: str
    left_ticks: int
    of_ticks: int
