"""Regulators: what they take from the supply before them, and what they burn."""

from __future__ import annotations

from host_tools.electrical.figure import MEMORY, Figure, Given, Input

SWITCHING = Given(
    "efficiency", 85.0, "%", f"switching regulators: 85 to 95 %, the low end {MEMORY}"
)
"""What a switching regulator passes on unless its datasheet says otherwise."""


def linear_efficiency(of: str, in_v: Input, out_v: Input) -> Figure:
    """What a linear regulator passes on: it burns the rest."""
    return Figure(
        of,
        "efficiency",
        100 * out_v.in_unit("V") / in_v.in_unit("V"),
        "%",
        "100 * Uout / Uin",
        (out_v, in_v),
        "a linear regulator takes the current that it gives",
    )


def taken_a(of: str, gives_a: Input, *, in_v: Input, out_v: Input, efficiency: Input) -> Figure:
    """The current that it takes while it gives `gives_a`: power in is power out / efficiency. A
    linear one, with its own efficiency, takes just the current that it gives."""
    power_w = gives_a.in_unit("A") * out_v.in_unit("V")
    return Figure(
        of,
        "current that it takes",
        power_w / (in_v.in_unit("V") * efficiency.in_unit("%") / 100),
        "A",
        "Iin = Iout * Uout / (Uin * efficiency)",
        (gives_a, out_v, in_v, efficiency),
        "power in = power out / efficiency",
    )


def heat_w(of: str, gives_a: Input, *, out_v: Input, efficiency: Input) -> Figure:
    """What it burns while it gives `gives_a`."""
    power_w = gives_a.in_unit("A") * out_v.in_unit("V")
    return Figure(
        of,
        "heat",
        power_w * (100 / efficiency.in_unit("%") - 1),
        "W",
        "P = Iout * Uout * (1 / efficiency - 1)",
        (gives_a, out_v, efficiency),
        "heat = power in - power out",
    )
