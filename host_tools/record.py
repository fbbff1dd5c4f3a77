"""What a rung of the conformance ladder did with a trace, tick by tick."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from host_tools.trace import Trace


@dataclass(frozen=True, eq=False)
class Record:
    """`lines[k]` holds bit i while `Plan.lines[i]` is on in tick k (shape: ticks, uint64);
    `servos_half_us[k, j]` is the width of `Plan.servos[j]` (uint16); `levels[k, j]` is the duty of
    `Plan.lights[j]`, of 255 (uint8); `digests[k]` stands for everything remembered at the end of
    tick k (uint32), None from a run that was asked for outputs only; `kept` is what would outlive
    the power at the end. `trace` holds the pulses as
    this rung saw them.
    """

    trace: Trace
    lines: NDArray[np.uint64]
    servos_half_us: NDArray[np.uint16]
    levels: NDArray[np.uint8]
    digests: NDArray[np.uint32] | None
    kept: bytes = b""

    @property
    def ticks(self) -> int:
        """How many ticks were run."""
        return len(self.lines)


class RungUnavailable(Exception):  # noqa: N818 - named after what is the matter
    """This computer lacks what a rung needs; the text says what, and how to get it."""


class RungFault(Exception):  # noqa: N818 - named after what is the matter
    """A rung did what nothing may do, such as hang; the text says what and when. `tick` is where,
    as near as it is known."""

    def __init__(self, text: str, tick: int) -> None:
        super().__init__(text)
        self.tick = tick


class Rung(Protocol):
    """One way to run a plan: the model, the compiled logic, the firmware."""

    name: str
    takes_forces: bool
    """Whether a trace may have forces: else run() raises RungUnavailable."""

    def run(self, trace: Trace) -> Record:
        """Runs `trace` from power-up, with the plan's channels in the plan's order."""
        ...
