"""The trace file: a text table that people and git can read.

    # pinrail trace 1
    # ship: Skerry Maid
    # plan: 3f0c9a51d2e7
    # tick: 5 ms
    # ticks: 400
    # source: trial 'deck lights latch'
    tick	rudder	deck key	|	relay 1	|	searchlight servo
    0	1500	1500.5		0		1500
    4	1501
    # end

Cells are separated by tabs. One row stands for each tick that had something to say; a tick that is
repeated had a second pulse on some channel. Widths are in microseconds with ".5" where the grain
is a half, and a blank cell is no pulse; blank cells at the end of a row may be left away. What the
sensors read may follow after a wave (`~`): counts or a level, each cell where it changed; last of
all, under `force`, what a bench forces: 0 is nothing, (function + 1) * 256 + state. What was
driven may follow after a bar: first the lines (1 on, 0 off), after a second bar the servos and, if
there are any, after a third one the lights (their duty, 0 to 255), each cell where it changed and
in the first row. The last line says that nothing was cut off.

`write_table.py` writes it and `read_table.py` reads it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS

if TYPE_CHECKING:
    from numpy.typing import NDArray

FIRST_LINE = "# pinrail trace 1"
LAST_LINE = "# end"
WAVE = "~"
BAR = "|"

HEADER = {
    "ship": ".*",
    "plan": ".*",
    "tick": f"{TICK_MS} ms",
    "ticks": "[0-9]{1,12}",
    "source": ".*",
    "kept": "(?:[0-9a-f]{2}){1,4096}",
}
"""The header's keys, and what each one's value looks like."""

UNCHANGED = 0xFFFF
"""A driven cell or a reading that was left blank: as in the row before."""


@dataclass(frozen=True, eq=False)
class Driven:
    """What the outputs did in each row of a trace file: `lines` are 1, 0 or UNCHANGED, `servos`
    are widths in half microseconds or UNCHANGED, `lights` are duties or UNCHANGED.
    """

    line_names: tuple[str, ...]
    servo_names: tuple[str, ...]
    lines: NDArray[np.uint16]
    servos: NDArray[np.uint16]
    light_names: tuple[str, ...]
    lights: NDArray[np.uint16]

    @classmethod
    def nothing(cls, rows: int) -> Driven:
        """The outputs of a trace that tells of pulses only."""
        none = np.zeros((rows, 0), np.uint16)
        return cls((), (), none, none, (), none)
