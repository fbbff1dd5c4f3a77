"""How long a motor may run: duty types of IEC 60034-1, and what a load that comes and goes heats
like."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.electrical.figure import Figure

if TYPE_CHECKING:
    from host_tools.electrical.figure import Input

S3 = "IEC 60034-1, 4.2.3: S3, cyclic duration factor"


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
