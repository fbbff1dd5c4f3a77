"""How every picture looks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from gen.plan import HALF_US_PER_US, TICK_MS

INK = "#22303c"
FAINT = "#8a96a0"
RULE = "#c9d1d7"
PAPER = "#ffffff"
SILENCE = "#f3f4f5"
FIRST = "#0072b2"
SECOND = "#d55e00"
"""Blue and vermilion of Okabe and Ito's palette (from memory): told apart with every common kind
of colour blindness.
"""

HATCH = "////"

STYLE: Any = {
    "axes.edgecolor": FAINT,
    "axes.linewidth": 0.6,
    "figure.facecolor": PAPER,
    "font.family": "DejaVu Sans",
    "font.size": 7.5,
    "hatch.color": PAPER,
    "hatch.linewidth": 1.1,
    "svg.fonttype": "path",
    "svg.hashsalt": "pinrail",
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
}

Scale = Callable[[Any], Any]
"""From what a lane counts, one or many, to what stands on its upright axis."""


def seconds(ticks: Any) -> Any:
    """Ticks, one or many, on the time axis."""
    return ticks * TICK_MS / 1000


def us(half_us: Any) -> Any:
    """Widths, one or many, on the upright axis of a lane."""
    return half_us / HALF_US_PER_US
