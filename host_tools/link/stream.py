"""What a board told, put in order: ticks counted from power-up, and what was lost on the way.

Ticks are told in 16 bits. Once a second a tally says the whole count; what came since the one
before is counted back from there, so that neither a silence of minutes nor a lost line can shift
anything.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from host_tools.link.session import Restarted
from host_tools.link.told import WRAP_TICKS, Tally, TickLine

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.link.session import Event


@dataclass(frozen=True)
class Batch:
    """What was told between two tallies. `lines` are (tick from power-up, line), in order; `until`
    is the tick of the later tally, `whole` says that nothing was lost between the two: neither on
    the wire nor for want of room in the board."""

    lines: list[tuple[int, TickLine]]
    until: int
    whole: bool
    tally: Tally | None


@dataclass
class Stream:
    """Sorts what a session hears into batches. `take_batch` is handed each one as it is known to be
    whole or not, `take_restart` is called when the board starts anew; `dropped_here` gives how many
    lines were dropped on this side so far."""

    take_batch: Callable[[Batch], None]
    take_restart: Callable[[], None] = lambda: None
    dropped_here: Callable[[], int] = lambda: 0
    tally: Tally | None = None
    _pending: list[TickLine] = field(default_factory=list)
    _dropped_before: list[int] = field(default_factory=list)  # each of them came
    _last: Tally | None = None
    _dropped: int = 0
    _latest: int = 0

    def hear(self, event: Event) -> None:
        """The session's listener."""
        if isinstance(event, TickLine):
            self._pending.append(event)
            self._dropped_before.append(self.dropped_here())
        elif isinstance(event, Restarted):
            self._start_anew()
        else:
            self._settle(event)

    def finish(self) -> None:
        """No more comes: what is left is counted on from the last tally. Whatever was dropped
        behind the last line takes nothing from those before it."""
        if self._pending:
            base = self._last.tick if self._last is not None else self._pending[0].tick
            self._hand_on(base, self._dropped_before[-1], None)

    def _start_anew(self) -> None:
        # Its first ticks may have been told before it came to say who it is.
        ticks = [line.tick for line in self._pending]
        first = len(ticks) - ticks[::-1].index(0) - 1 if 0 in ticks else len(ticks)
        since = self._pending[first:], self._dropped_before[first:]
        del self._pending[first:], self._dropped_before[first:]
        self.finish()
        self._pending, self._dropped_before = since
        self._last = None
        self._latest = 0
        self._dropped = self.dropped_here()
        self.take_restart()

    def _settle(self, tally: Tally) -> None:
        before = self._last or Tally(tally.tick)
        self._last = self.tally = tally
        # What 16 bits cannot tell apart is not whole; nor does a board that says it has run for
        # years since its last line keep anybody busy.
        in_step = 0 <= tally.tick - before.tick < WRAP_TICKS // 2
        in_board = tally.dropped - before.dropped
        self._hand_on(tally.tick, self.dropped_here(), tally, in_board=in_board, in_step=in_step)

    def _hand_on(
        self,
        base: int,
        dropped_here: int,
        tally: Tally | None,
        *,
        in_board: int = 0,
        in_step: bool = True,
    ) -> None:
        """All pending lines, their ticks counted from `base`."""
        lines = [(base + _signed(line.tick - base), line) for line in self._pending]
        self._pending, self._dropped_before = [], []
        ticks = [self._latest, *(tick for tick, _ in lines)]
        self._latest = ticks[-1]
        in_order = all(earlier <= later for earlier, later in itertools.pairwise(ticks))
        whole = in_order and in_step and not in_board and dropped_here == self._dropped
        self._dropped = dropped_here
        self.take_batch(Batch(lines, base if tally else ticks[-1], whole, tally))


def _signed(difference: int) -> int:
    """A difference of two 16-bit ticks, from -32768 to 32767."""
    return (difference + WRAP_TICKS // 2) % WRAP_TICKS - WRAP_TICKS // 2
