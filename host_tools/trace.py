"""A trace: the receiver's pulses, tick by tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

NO_PULSE = 0
"""The width that stands for "no pulse in this row"."""

MAX_TICKS = 2**31
"""A little over 124 days: more than any recording, and small enough for every tool's integers."""


@dataclass(frozen=True, eq=False)
class Trace:
    """Pulses by the tick in which they ended, from power-up.

    `ticks` is how long it lasts; `at` holds the tick of each row, never falling and below `ticks`;
    `widths_half_us` has one row for each entry of `at` and one column for each channel, in half
    microseconds, `NO_PULSE` where nothing came. Two rows with the same tick are two pulses, one
    after the other, in that tick. `ship`, `plan_id` and `source` say whose pulses they are and
    where they came from ("trial 'deck lights latch'", "random, seed 7").

    Raises ValueError when the parts do not fit together.
    """

    ticks: int
    channels: tuple[str, ...]
    at: NDArray[np.int64]
    widths_half_us: NDArray[np.uint16]
    ship: str = ""
    plan_id: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", np.ascontiguousarray(self.at, dtype=np.int64))
        object.__setattr__(
            self, "widths_half_us", np.ascontiguousarray(self.widths_half_us, dtype=np.uint16)
        )
        if not 0 <= self.ticks <= MAX_TICKS:
            raise ValueError(f"a trace lasts 0 to {MAX_TICKS} ticks, not {self.ticks}")
        if self.at.ndim != 1:
            raise ValueError("a trace has one tick for each row")
        if self.widths_half_us.shape != (self.rows, len(self.channels)):
            raise ValueError("a trace has one width for each row and channel")
        if self.rows and not (self.at[0] >= 0 and self.at[-1] < self.ticks):
            raise ValueError("every row's tick lies within the trace")
        if np.any(self.at[1:] < self.at[:-1]):
            raise ValueError("ticks never fall")

    @property
    def rows(self) -> int:
        """How many rows it has; a tick in which nothing came has none."""
        return len(self.at)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Trace):
            return NotImplemented
        return (
            (self.ticks, self.channels) == (other.ticks, other.channels)
            and (self.ship, self.plan_id, self.source) == (other.ship, other.plan_id, other.source)
            and np.array_equal(self.at, other.at)
            and np.array_equal(self.widths_half_us, other.widths_half_us)
        )

    __hash__ = None  # type: ignore[assignment]  # it holds arrays, and equality looks into them
