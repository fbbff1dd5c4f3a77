"""A picture of what was learned of a radio: a histogram a channel with the bands found, and the
cycle of each shared channel."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from host_tools.learn.cycle import whole_rounds
from host_tools.learn.finding import Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.steps import without_steps
from host_tools.plot import Picture, pictured
from host_tools.plot.lanes import shortened
from host_tools.plot.style import FAINT, FIRST, INK, RULE, SECOND, SILENCE, STYLE, us

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from host_tools.learn.learned import ChannelFound, ControlFound, Learned

WIDTH_INCHES = 11.0
HISTOGRAM_INCHES, CYCLE_INCHES = 1.05, 2.5
TOP_INCHES, FOOT_INCHES, GAP_INCHES = 0.95, 0.5, 0.45
LEFT_INCHES, RIGHT_INCHES = 2.35, 0.4
STEP_US = 4
BESIDE_US = 60
MOST_ROUNDS = 250
MOST_LETTERS = 30
NARROW = 0.045
"""A band whose share of the width is less has no room for its name."""


def draw_learned(learned: Learned) -> Picture:
    """Draw all of it."""
    with mpl.rc_context(STYLE), warnings.catch_warnings():
        # A name in a script that the typeface lacks is drawn as boxes; that is no reason to fail.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        return pictured(_figure(learned))


def _figure(learned: Learned) -> Figure:
    rows = [
        (channel, inches)
        for channel in learned.channels
        for inches in [HISTOGRAM_INCHES, *([CYCLE_INCHES] if channel.shared else [])]
    ]
    inner = sum(inches + GAP_INCHES for _, inches in rows)
    height = TOP_INCHES + inner + FOOT_INCHES
    figure = Figure(figsize=(WIDTH_INCHES, height))
    _title(figure, learned, height)
    reach = _reach(learned.channels)
    above = TOP_INCHES
    for channel, inches in rows:
        axes = figure.add_axes(
            (
                LEFT_INCHES / WIDTH_INCHES,
                1 - (above + inches) / height,
                1 - (LEFT_INCHES + RIGHT_INCHES) / WIDTH_INCHES,
                inches / height,
            )
        )
        for side in ("top", "right", "left"):
            axes.spines[side].set_visible(False)
        axes.spines["bottom"].set_color(RULE)
        axes.tick_params(length=2, labelsize=6, pad=2)
        own = [one for one in learned.controls if one.channel == channel.name]
        if inches == HISTOGRAM_INCHES:
            _histogram(axes, channel, own, reach)
        else:
            _cycle(axes, channel, own, reach)
        above += inches + GAP_INCHES
    return figure


def _title(figure: Figure, learned: Learned, height: float) -> None:
    left = (LEFT_INCHES - 2.03) / WIDTH_INCHES
    figure.text(left, 1 - 0.42 / height, "What the radio says", fontsize=13, weight="bold")
    told = f"a frame every {learned.period_us / 1000:.2f} ms; widths in microseconds"
    figure.text(left, 1 - 0.66 / height, told, fontsize=8.5)
    source = shortened(without_steps(learned.source) or "a trace", 90)
    figure.text(1 - 0.4 / WIDTH_INCHES, 1 - 0.4 / height, source, fontsize=7, ha="right")


def _reach(channels: Sequence[ChannelFound]) -> tuple[float, float]:
    """The widths that every row shows."""
    low = min((us(one.said[0]) for one in channels), default=1000)
    high = max((us(one.said[1]) for one in channels), default=2000)
    return low - BESIDE_US, high + BESIDE_US


def _label(axes: Axes, name: str, *notes: str) -> None:
    axes.annotate(
        "\n".join([shortened(name, MOST_LETTERS), *notes]),
        (0, 0.5),
        xycoords="axes fraction",
        xytext=(-2.03 * 72, 0),
        textcoords="offset points",
        va="center",
        fontsize=7.5,
        linespacing=1.5,
    )


def _histogram(
    axes: Axes,
    channel: ChannelFound,
    controls: Sequence[ControlFound],
    reach: tuple[float, float],
) -> None:
    """How often each width came; bands and lost bands behind it."""
    widths = us(channel.train.widths.astype(float))
    edges = np.arange(reach[0], reach[1] + STEP_US, STEP_US)
    counts, _ = np.histogram(widths, edges)
    axes.bar(edges[:-1], np.sqrt(counts), width=STEP_US, align="edge", color=INK, lw=0, zorder=2)
    axes.set_xlim(*reach)
    axes.set_yticks([])
    noise = f"noise {us(channel.noise_half_us):.1f} us"
    if channel.shared is not None:
        limit = us(channel.shared.markers.limit_half_us)
        low = channel.shared.markers.low
        span = (reach[0], limit) if low else (limit, reach[1])
        axes.axvspan(*span, color=SECOND, alpha=0.22, lw=0)
        axes.text(sum(span) / 2, axes.get_ylim()[1], "marker", ha="center", va="bottom", fontsize=6)
    for control in controls if channel.shared is None else ():
        _bands(axes, control, reach)
    for lost, left in ((channel.loss.lost_below_us, True), (channel.loss.lost_above_us, False)):
        if lost:
            span = (reach[0], lost) if left else (lost, reach[1])
            axes.axvspan(*span, color=FAINT, alpha=0.3, lw=0, hatch="////")
            side = "left" if left else "right"
            place = reach[0] if left else reach[1]
            axes.text(place, axes.get_ylim()[1], "lost", ha=side, va="bottom", fontsize=6)
    kinds = {"shared"}
    if channel.shared is None:
        kinds = {one.kind.kind.value + _doubt(one) for one in controls}
    _label(axes, channel.name, ", ".join(sorted(kinds)), noise)


def _doubt(control: ControlFound) -> str:
    is_open = control.kind.sure is Sure.NOT_SURE and control.kind.kind is not Kind.UNMOVED
    return " (not sure)" if is_open else ""


def _bands(axes: Axes, control: ControlFound, reach: tuple[float, float]) -> None:
    top = axes.get_ylim()[1]
    if control.bands is None:
        if control.kind.kind is not Kind.UNMOVED:
            for end in control.kind.places:
                axes.axvline(us(end), color=FIRST, lw=1.0, ls="--", zorder=1)
                axes.text(us(end), top, "end", ha="center", va="bottom", fontsize=6)
        return
    for number, (name, low, high) in enumerate(control.bands.positions):
        shade = FIRST if number % 2 else SILENCE
        begin, end = max(low, reach[0]), min(high, reach[1])
        axes.axvspan(begin, end, facecolor=shade, alpha=0.2 if number % 2 else 1.0, lw=0, zorder=0)
        for edge in (begin, end):
            axes.axvline(edge, color=FIRST, lw=0.6, zorder=1)
        if (end - begin) / (reach[1] - reach[0]) > NARROW:
            axes.text((begin + end) / 2, top, name, ha="center", va="bottom", fontsize=6)


def _cycle(
    axes: Axes,
    channel: ChannelFound,
    controls: Sequence[ControlFound],
    reach: tuple[float, float],
) -> None:
    """What each frame of a round said, all rounds over one another."""
    shared = channel.shared
    if shared is None:
        return
    scheme = shared.scheme
    rows = us(whole_rounds(shared.markers, scheme.whole).astype(float))
    rows = rows[:: max(1, len(rows) // MOST_ROUNDS)]
    place = np.arange(scheme.whole)
    for row in rows:
        axes.plot(place[row > 0] + 0.5, row[row > 0], ".", color=INK, ms=4.0, alpha=0.35, mew=0)
    axes.axvspan(0, scheme.frames, color=SECOND, alpha=0.22, lw=0)
    for slot in range(1, scheme.slots + 2):
        axes.axvline(slot * scheme.frames, color=RULE, lw=0.6, zorder=0)
    axes.set_xlim(0, scheme.whole)
    axes.set_ylim(*reach)
    middles = [(slot + 0.5) * scheme.frames for slot in range(scheme.slots + 1)]
    kinds = [one.kind.kind.value for one in sorted(controls, key=lambda one: one.slot)]
    names = ["marker", *(f"{n}\n{kind}" for n, kind in enumerate(kinds, 1))]
    axes.set_xticks(middles, names[: len(middles)], fontsize=5.5 if scheme.slots > 12 else 6)
    axes.tick_params(axis="x", length=0)
    limit = us(shared.markers.limit_half_us)
    axes.axhline(limit, color=SECOND, lw=0.8, ls="--")
    _label(
        axes,
        f"{channel.name}, round by round",
        f"{scheme.slots} slots of {scheme.frames} frame" + "s" * (scheme.frames > 1),
        f"a round takes {scheme.whole * channel.train.period_us / 1e6:.2f} s",
        f"{shared.whole_share:.0%} arrive whole",
    )
