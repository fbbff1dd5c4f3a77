"""How long a motor may run: duty types of IEC 60034-1, and what a load that comes and goes heats
like."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from host_tools.electrical.figure import MEMORY, Figure, Given, Input

if TYPE_CHECKING:
    from collections.abc import Sequence

S3 = "IEC 60034-1, 4.2.3: S3, cyclic duration factor"

USUAL_CYCLE = Given("cycle", 600.0, "s", f"IEC 60034-1, 4.2.3: 10 min {MEMORY}")
"""The cycle of S3 unless another one is said."""


def longest_run_s(of: str, factor_percent: Input, cycle_s: Input) -> Figure:
    """How long it may run at a time in periodic duty (S3)."""
    return Figure(
        of,
        "longest run",
        factor_percent.in_unit("%") / 100 * cycle_s.in_unit("s"),
        "s",
        "t = duration factor * cycle",
        (factor_percent, cycle_s),
        S3,
    )


def rest_s(of: str, run_s: Input, factor_percent: Input) -> Figure:
    """How long it must stand after a run."""
    factor = factor_percent.in_unit("%") / 100
    return Figure(
        of,
        "rest after it",
        run_s.in_unit("s") * (1 / factor - 1),
        "s",
        "rest = run * (1 / duration factor - 1)",
        (run_s, factor_percent),
        S3,
    )


def heating_a(of: str, parts: Sequence[tuple[Input, Input]]) -> Figure:
    """The steady current that heats a wire or a motor as much as one that changes: each of `parts`
    is a current and how long it flows (a current of 0 for the rest between)."""
    seconds = sum(time.in_unit("s") for _, time in parts)
    heat = sum(current.in_unit("A") ** 2 * time.value for current, time in parts)
    return Figure(
        of,
        "current that heats alike",
        math.sqrt(heat / seconds),
        "A",
        "I = sqrt(sum of I^2 * t / sum of t)",
        tuple(one for part in parts for one in part),
        "heat goes with the square of the current",
    )
