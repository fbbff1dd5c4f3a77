"""A timeline picture of one run: what the thumbs did above, what the ship did below.

One lane a control, with the pulses of its channel over the bands of its positions, and one lane a
function. What lies still from beginning to end is named in one line instead of taking a lane. A
state is told by its word and its place in the lane, then by a hatch, and only last by a colour.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import matplotlib as mpl

from gen import __version__
from host_tools.plot.page import Page
from host_tools.plot.style import STYLE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from matplotlib.figure import Figure

    from gen.plan import Plan
    from host_tools.record import Record
    from host_tools.states import Mark

DOTS_PER_INCH = 150


@dataclass(frozen=True)
class Picture:
    """One drawing in two formats, each the same bytes for the same run."""

    svg: bytes
    png: bytes


def draw(plan: Plan, record: Record, marks: Sequence[Mark] = (), *, rung: str = "model") -> Picture:
    """Draw one run of `plan`; `rung` is told in the corner."""
    return drawn(lambda: Page(plan, record, marks, rung))


def drawn(page: Callable[[], Page]) -> Picture:
    """A page as a picture."""
    with mpl.rc_context(STYLE), warnings.catch_warnings():
        # A name in a script that the typeface lacks is drawn as boxes; that is no reason to fail.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        return pictured(page().figure())


def pictured(figure: Figure) -> Picture:
    """A figure in both formats."""
    return Picture(
        svg=_saved(figure, "svg", {"Date": None, "Creator": f"Pinrail {__version__}"}),
        png=_saved(figure, "png", {"Software": f"Pinrail {__version__}"}),
    )


def _saved(figure: Figure, kind: str, metadata: dict[str, str | None]) -> bytes:
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, dpi=DOTS_PER_INCH, metadata=metadata)
    return stream.getvalue()


__all__ = ["Picture", "draw", "drawn", "pictured"]
