"""A timeline picture of one run: what the thumbs did above, what the ship did below.

One lane a control, with the pulses of its channel over the bands of its positions, and one lane a
function. What lies still from beginning to end is named in one line instead of taking a lane. A
state is told by its word and its place in the lane, then by a hatch, and only last by a colour; the
two colours are told apart with every common kind of colour blindness (Okabe and Ito's palette, from
memory).
"""

from __future__ import annotations

import io
import textwrap
import warnings
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.transforms import blended_transform_factory

from gen import __version__
from gen.plan import HALF_US_PER_US, TICK_MS
from host_tools.states import Doing
from host_tools.trace import NO_PULSE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from gen.behaviours import Function
    from gen.plan import Control, Plan
    from host_tools.record import Record
    from host_tools.states import Mark

INK = "#22303c"
FAINT = "#8a96a0"
PAPER = "#ffffff"
RULE = "#c9d1d7"
FIRST = "#0072b2"
SECOND = "#d55e00"

WIDTH_INCHES = 11.0
LANE_INCHES = 0.46
HEAD_INCHES = 1.3
FOOT_INCHES = 0.9
LEFT_INCHES = 2.35
RIGHT_INCHES = 0.4
MARGIN_INCHES = 0.32

_MOST_POINTS = 3000
"""More points than this on one lane cannot be told apart: it is drawn as its outline."""

_MARK_ROWS = 3
_MARK_LETTERS = 170
"""How many letters of a mark's label fit beside one another above the lanes."""

_MOST_NAMES_BESIDE = 3
"""More names of positions than this do not fit beside a lane."""

_STYLE: Any = {
    "axes.edgecolor": FAINT,
    "axes.linewidth": 0.6,
    "figure.facecolor": PAPER,
    "font.family": "DejaVu Sans",
    "font.size": 7.5,
    "hatch.color": PAPER,
    "hatch.linewidth": 1.1,
    "path.simplify": True,
    "svg.fonttype": "path",
    "svg.hashsalt": "pinrail",
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
}


@dataclass(frozen=True)
class Picture:
    """One drawing in two formats, each the same bytes for the same run."""

    svg: bytes
    png: bytes


def draw(plan: Plan, record: Record, marks: Sequence[Mark] = (), *, rung: str = "model") -> Picture:
    """Draw one run of `plan`; `rung` is told in the corner."""
    with mpl.rc_context(_STYLE), warnings.catch_warnings():
        # A name in a script that the typeface lacks is drawn as boxes; that is no reason to fail.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        figure = _Drawing(plan, record, marks, rung).figure()
        return Picture(
            svg=_saved(figure, "svg", {"Date": None, "Creator": f"Pinrail {__version__}"}),
            png=_saved(figure, "png", {"Software": f"Pinrail {__version__}"}),
        )


def _saved(figure: Figure, kind: str, metadata: dict[str, str | None]) -> bytes:
    stream = io.BytesIO()
    figure.savefig(stream, format=kind, dpi=150, metadata=metadata)
    return stream.getvalue()


class _Drawing:
    def __init__(self, plan: Plan, record: Record, marks: Sequence[Mark], rung: str) -> None:
        self.plan = plan
        self.doing = Doing(plan, record)
        self.trace = record.trace
        self.ticks = max(record.ticks, 1)
        self.marks = marks
        self.rung = rung
        self.functions = [function for function in plan.functions if self._acts(function)]
        self.controls = [control for control in plan.controls if self._stirs(control)]

    def figure(self) -> Figure:
        lanes = len(self.controls) + len(self.functions)
        gap = 1 if self.controls and self.functions else 0
        rows = max(lanes + gap * 0.5, 1)
        height = HEAD_INCHES + rows * LANE_INCHES + FOOT_INCHES
        figure = Figure(figsize=(WIDTH_INCHES, height))
        figure.patch.set_linewidth(0)
        inner = WIDTH_INCHES - LEFT_INCHES - RIGHT_INCHES
        top = height - HEAD_INCHES
        axes: list[Axes] = []
        for index in range(lanes):
            below = index + 1 + (0.5 * gap if index >= len(self.controls) else 0)
            bottom = top - below * LANE_INCHES
            axes.append(
                figure.add_axes(
                    (
                        LEFT_INCHES / WIDTH_INCHES,
                        (bottom + 0.05) / height,
                        inner / WIDTH_INCHES,
                        (LANE_INCHES - 0.1) / height,
                    )
                )
            )
        for axis, control in zip(axes, self.controls, strict=False):
            self._prepare(axis, control.name)
            self._control(axis, control)
        for axis, function in zip(axes[len(self.controls) :], self.functions, strict=True):
            self._prepare(axis, function.name)
            self._function(axis, function)
        if axes:
            self._time_axis(axes[-1])
            self._draw_marks(figure, axes)
        self._headings(figure, axes, height)
        self._title(figure, height)
        self._frame(figure, height)
        return figure

    # Which lanes there are.

    def _stirs(self, control: Control) -> bool:
        """Whether it moves or, where something answers it, falls silent."""
        widths = self._widths(control)[1].astype(np.int64)
        if len(widths) and np.ptp(widths) > 2 * control.hysteresis_half_us:
            return True
        index = self.plan.controls.index(control)
        obeyed = any(index in function.controls for function in self.functions)
        return obeyed and bool(self._lost(control))

    def _acts(self, function: Function) -> bool:
        return bool(self.doing.state(function).any())

    # Lanes.

    def _prepare(self, axis: Axes, name: str) -> None:
        axis.set_xlim(0, self._seconds(self.ticks))
        axis.patch.set_alpha(0)
        axis.tick_params(left=False, bottom=False, labelbottom=False, labelsize=5.8, pad=2)
        axis.set_yticks([])
        for side in ("top", "right", "left"):
            axis.spines[side].set_visible(False)
        axis.spines["bottom"].set_color(RULE)
        axis.annotate(
            textwrap.shorten(name, 26, placeholder="…"),
            (0, 0.5),
            xycoords="axes fraction",
            xytext=((MARGIN_INCHES - LEFT_INCHES) * 72, 0),
            textcoords="offset points",
            va="center",
            fontsize=7.8,
        )

    def _control(self, axis: Axes, control: Control) -> None:
        bands = [(p.name, p.low_half_us, p.high_half_us) for p in control.positions]
        for _, low, high in bands:
            axis.axhspan(_us(low), _us(high), color=INK, alpha=0.08, lw=0)
        if control.proportional:
            ends = [_us(end) for end in control.ends_half_us]
            axis.set_yticks(ends, [f"{end:g} us" for end in ends])
        elif len(bands) <= _MOST_NAMES_BESIDE:
            axis.set_yticks(
                [_us((low + high) / 2) for _, low, high in bands],
                [textwrap.shorten(name, 14, placeholder="…") for name, _, _ in bands],
            )
        at, widths = self._widths(control)
        low = min([*(low for _, low, _ in bands), *widths.tolist()])
        high = max([*(high for _, _, high in bands), *widths.tolist()])
        axis.set_ylim(_us(low - 60), _us(high + 60))
        for start, end in self._lost(control):
            axis.axvspan(
                self._seconds(start), self._seconds(end), fc="#f3f4f5", ec=RULE, hatch="////", lw=0
            )
            if end - start > self.ticks * 0.06:
                self._word(axis, (start + end) / 2, "no signal", color=INK, box=PAPER)
        # A pulse says where the control is until the next one; silence says nothing.
        breaks = np.flatnonzero(np.diff(at) > self.plan.channels[control.channel].lost_after_ticks)
        for part_at, part in zip(
            np.split(at, breaks + 1), np.split(widths, breaks + 1), strict=True
        ):
            self._curve(axis, part_at, part, INK)
        if len(bands) > _MOST_NAMES_BESIDE:
            self._name_positions(axis, control, at, widths)

    def _name_positions(
        self, axis: Axes, control: Control, at: NDArray[np.int64], widths: NDArray[np.uint16]
    ) -> None:
        """With many positions their names stand where they are taken, not at the side."""
        place = np.full(len(widths), -1)
        for index, position in enumerate(control.positions):
            place[(widths >= position.low_half_us) & (widths <= position.high_half_us)] = index
        for start, end in _runs(place):
            index = int(place[start])
            wide = at[end - 1] - at[start] > self.ticks * 0.02
            if index >= 0 and index != control.rest and wide:
                self._word(
                    axis,
                    (at[start] + at[end - 1]) / 2,
                    control.positions[index].name,
                    color=INK,
                    box=PAPER,
                )

    def _function(self, axis: Axes, function: Function) -> None:
        if function.servos and not function.lines:
            for servo in function.servos:
                widths = self.doing.servo_half_us(servo)
                low, high = self.plan.servos[servo].range_half_us
                rest = self.plan.servos[servo].rest_half_us
                margin = max((high - low) // 12, 1)
                axis.set_ylim(_us(low - margin), _us(high + margin))
                axis.set_yticks([_us(low), _us(high)], [f"{_us(low):g} us", f"{_us(high):g} us"])
                axis.axhline(_us(rest), color=FAINT, lw=0.5, ls=(0, (4, 3)))
                self._curve(axis, np.arange(len(widths)), widths, FIRST, width=1.3)
            return
        axis.set_ylim(0, 1)
        state = self.doing.state(function)
        two_ways = len(function.states) > 2
        if two_ways:
            axis.axhline(0.5, color=RULE, lw=0.6)
            axis.set_yticks([0.25, 0.75], list(function.states[1:3]))
        for start, end in _runs(state):
            if state[start]:
                self._bar(axis, function, int(state[start]), start, end, two_ways=two_ways)

    def _bar(
        self, axis: Axes, function: Function, state: int, start: int, end: int, *, two_ways: bool
    ) -> None:
        second = state == 2
        low, high = ((0.5, 0.98) if second else (0.02, 0.5)) if two_ways else (0.12, 0.88)
        if state >= len(function.states):
            low, high = 0.02, 0.98
        left, right = self._seconds(start), self._seconds(end)
        axis.fill_between(
            [left, right],
            low,
            high,
            facecolor=SECOND if second else FIRST,
            edgecolor=PAPER,
            hatch="////" if second else None,
            lw=0,
        )
        axis.plot(
            [left, left, right, right], [low, high, high, low], color=INK, lw=0.6, clip_on=False
        )
        if not two_ways and end - start > self.ticks * 0.03:
            self._word(axis, (start + end) / 2, function.states[state], color=PAPER)

    def _curve(
        self,
        axis: Axes,
        at: NDArray[np.int64],
        widths: NDArray[np.uint16],
        color: str,
        width: float = 1.0,
    ) -> None:
        if len(at) > _MOST_POINTS:
            at, low, high = _outline(at, widths)
            axis.fill_between(self._seconds(at), _us(low), _us(high), color=color, lw=0.6)
        elif len(at):
            axis.step(self._seconds(at), _us(widths), where="post", color=color, lw=width)

    def _word(
        self, axis: Axes, tick: float, text: str, *, color: str, box: str | None = None
    ) -> None:
        axis.text(
            self._seconds(tick),
            0.5,
            text,
            transform=blended_transform_factory(axis.transData, axis.transAxes),
            ha="center",
            va="center",
            fontsize=6.4,
            color=color,
            clip_on=True,
            bbox={"facecolor": box, "edgecolor": "none", "pad": 1.0} if box else None,
        )

    # Around the lanes.

    def _time_axis(self, axis: Axes) -> None:
        axis.tick_params(axis="x", bottom=True, labelbottom=True, labelsize=7, length=3, pad=3)
        axis.spines["bottom"].set_color(INK)
        axis.set_xlabel("seconds from power-up", fontsize=7, labelpad=3, color=INK)

    def _draw_marks(self, figure: Figure, axes: Sequence[Axes]) -> None:
        first, last = axes[0], axes[-1]
        across = blended_transform_factory(first.transData, figure.transFigure)
        top, bottom = first.get_position().y1, last.get_position().y0
        row_ends = [-1.0] * _MARK_ROWS
        for mark in sorted(self.marks, key=lambda mark: mark.tick):
            at = self._seconds(mark.tick)
            first.plot(
                [at, at],
                [bottom, top + 0.012],
                transform=across,
                color=SECOND if mark.failed else FAINT,
                lw=1.0 if mark.failed else 0.5,
                ls="-" if mark.failed else (0, (2, 2)),
                clip_on=False,
                zorder=0.5,
            )
            text = ("✗ " if mark.failed else "") + textwrap.shorten(mark.text, 34, placeholder="…")
            # A label that would stand on another is left away; a failure never is.
            takes = self._seconds(self.ticks) * (len(text) + 2) / _MARK_LETTERS
            near_end = at + takes > self._seconds(self.ticks) * 1.03
            begins = at - takes if near_end else at
            row = next((i for i, end in enumerate(row_ends) if begins >= end), None)
            if row is None and not mark.failed:
                continue
            row = _MARK_ROWS - 1 if row is None else row
            row_ends[row] = begins + takes
            first.annotate(
                text,
                (at, top),
                xycoords=across,
                xytext=(-2 if near_end else 2, 7 + 9 * row),
                textcoords="offset points",
                ha="right" if near_end else "left",
                fontsize=6,
                weight="bold" if mark.failed else "normal",
                color=SECOND if mark.failed else INK,
                annotation_clip=False,
            )

    def _headings(self, figure: Figure, axes: Sequence[Axes], height: float) -> None:
        groups = (("CONTROLS", 0, self.controls), ("FUNCTIONS", len(self.controls), self.functions))
        for word, index, members in groups:
            if members:
                y = axes[index].get_position().y1 + 0.045 / height
                figure.text(
                    MARGIN_INCHES / WIDTH_INCHES, y, word, fontsize=6, color=FAINT, va="bottom"
                )
                line = [MARGIN_INCHES / WIDTH_INCHES, (LEFT_INCHES - 0.1) / WIDTH_INCHES]
                figure.add_artist(Line2D(line, [y - 0.01 / height] * 2, color=RULE, lw=0.5))
        moving = {one.name for one in self.controls} | {one.name for one in self.functions}
        every = [one.name for one in self.plan.controls] + [one.name for one in self.plan.functions]
        still = [name for name in every if name not in moving]
        if still:
            text = textwrap.shorten(
                "Not drawn, for nothing moved: " + ", ".join(still), 340, placeholder=" …"
            )
            figure.text(
                MARGIN_INCHES / WIDTH_INCHES,
                0.36 / height,
                textwrap.fill(text, 175),
                fontsize=6,
                color=FAINT,
                va="center",
            )

    def _title(self, figure: Figure, height: float) -> None:
        y = (height - 0.42) / height
        left = MARGIN_INCHES / WIDTH_INCHES
        figure.text(left, y, self.plan.ship, fontsize=13, weight="bold", va="center")
        source = textwrap.shorten(self.trace.source or "a trace", 80, placeholder="…")
        figure.text(left, (height - 0.66) / height, source, fontsize=8.5, va="center")
        right = 1 - MARGIN_INCHES / WIDTH_INCHES
        for row, text in enumerate(
            (f"plan {self.plan.plan_id}", f"board {self.plan.board}, run on: {self.rung}")
        ):
            figure.text(
                right,
                (height - 0.40 - 0.18 * row) / height,
                text,
                fontsize=7,
                color=INK,
                ha="right",
                va="center",
            )

    def _frame(self, figure: Figure, height: float) -> None:
        x, y = 0.16 / WIDTH_INCHES, 0.16 / height
        figure.add_artist(
            Rectangle(
                (x, y),
                1 - 2 * x,
                1 - 2 * y,
                fill=False,
                ec=INK,
                lw=0.9,
                transform=figure.transFigure,
            )
        )

    # Numbers.

    def _widths(self, control: Control) -> tuple[NDArray[np.int64], NDArray[np.uint16]]:
        column = self.trace.widths_half_us[:, control.channel]
        spoke = column != NO_PULSE
        return self.trace.at[spoke], column[spoke]

    def _lost(self, control: Control) -> list[tuple[int, int]]:
        """When the control's channel had been silent, or in a band that tells so, for too long."""
        channel = self.plan.channels[control.channel]
        at, widths = self._widths(control)
        low = max(channel.valid_half_us[0], channel.lost_below_half_us)
        high = min(channel.valid_half_us[1], channel.lost_above_half_us)
        good = np.concatenate([at[(widths >= low) & (widths <= high)], [self.ticks]])
        silent_from = good[:-1] + channel.lost_after_ticks
        return [
            (int(start), int(end))
            for start, end in zip(silent_from, good[1:], strict=True)
            if start < end
        ]

    @staticmethod
    def _seconds(ticks: Any) -> Any:
        return ticks * TICK_MS / 1000


def _us(half_us: Any) -> Any:
    return half_us / HALF_US_PER_US


def _runs(values: NDArray[Any]) -> list[tuple[int, int]]:
    """Where equal values begin and end."""
    edges = np.flatnonzero(np.diff(values)) + 1
    ends = [0, *edges.tolist(), len(values)]
    return list(pairwise(ends)) if len(values) else []


def _outline(
    at: NDArray[np.int64], widths: NDArray[np.uint16]
) -> tuple[NDArray[np.int64], NDArray[np.uint16], NDArray[np.uint16]]:
    """The lowest and the highest width in each of as many stretches as can be told apart."""
    starts = np.linspace(0, len(at), _MOST_POINTS // 2, endpoint=False).astype(np.int64)
    return at[starts], np.minimum.reduceat(widths, starts), np.maximum.reduceat(widths, starts)
