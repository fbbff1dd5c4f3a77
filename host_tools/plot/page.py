"""A whole picture: its lanes, and what stands around them."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle
from matplotlib.transforms import blended_transform_factory

from host_tools.plot.lanes import MOST_LETTERS, ControlLane, FunctionLane, shortened
from host_tools.plot.sensor_lane import SensorLane
from host_tools.plot.style import FAINT, INK, RULE, SECOND, seconds
from host_tools.states import Doing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from gen.plan import Plan
    from host_tools.record import Record
    from host_tools.states import Mark

WIDTH_INCHES = 11.0
LANE_INCHES = 0.46
GAP_LANES = 0.5
HEAD_INCHES = 1.3
FOOT_INCHES = 0.9
LEFT_INCHES = 2.35
RIGHT_INCHES = 0.4
MARGIN_INCHES = 0.32
POINTS_PER_INCH = 72

LONG_S = 120
"""A longer run is counted in minutes or hours."""

STEPS_S = (10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14_400, 43_200, 86_400)
MOST_STEPS = 14

MARK_ROWS = 3
MARK_LETTERS = 170
"""How many letters of the marks' labels fit beside one another above the lanes."""

Lane = ControlLane | SensorLane | FunctionLane


class Page:
    """One run, laid out."""

    def __init__(self, plan: Plan, record: Record, marks: Sequence[Mark], rung: str) -> None:
        self.plan = plan
        self.trace = record.trace
        self.ticks = max(record.ticks, 1)
        self.marks = marks
        self.rung = rung
        doing = Doing(plan, record)
        functions = [FunctionLane(doing, function) for function in plan.functions]
        self.functions = [lane for lane in functions if lane.acts]
        # A control that only falls silent is of interest where something answers it.
        obeyed = {index for lane in self.functions for index in lane.function.controls}
        controls = [ControlLane(plan, control, record.trace) for control in plan.controls]
        self.controls = [
            lane
            for index, lane in enumerate(controls)
            if lane.moves or (index in obeyed and lane.falls_silent)
        ]
        readings = record.trace.readings_by_tick() if plan.sensors else None
        sensors = [
            SensorLane(sensor, readings[:, index])
            for index, sensor in enumerate(plan.sensors)
            if readings is not None
        ]
        self.sensors = [lane for lane in sensors if lane.moves]
        every: list[Lane] = [*controls, *sensors, *functions]
        self.arrange(
            {"CONTROLS": self.controls, "SENSORS": self.sensors, "FUNCTIONS": self.functions}, every
        )

    def arrange(self, groups: dict[str, Sequence[Lane]], every: Sequence[Lane]) -> None:
        """Lays out lanes in groups; those of `every` that are in none are only named."""
        self.groups = {word: own for word, own in groups.items() if own}
        drawn = {lane.name for lanes in self.groups.values() for lane in lanes}
        self.still = [lane.name for lane in every if lane.name not in drawn]
        gaps = GAP_LANES * max(len(self.groups) - 1, 0)
        rows = sum(len(lanes) for lanes in self.groups.values()) + gaps
        self.height_inches = HEAD_INCHES + max(rows, 1) * LANE_INCHES + FOOT_INCHES

    def figure(self) -> Figure:
        """Draw it all."""
        figure = Figure(figsize=(WIDTH_INCHES, self.height_inches))
        axes: list[Axes] = []
        above = 0.0
        for word, lanes in self.groups.items():
            for index, lane in enumerate(lanes):
                axis = self._add_axis(figure, above)
                above += 1
                axis.annotate(
                    shortened(lane.name, MOST_LETTERS),
                    (0, 0.5),
                    xycoords="axes fraction",
                    xytext=((MARGIN_INCHES - LEFT_INCHES) * POINTS_PER_INCH, 0),
                    textcoords="offset points",
                    va="center",
                    fontsize=7.8,
                )
                lane.draw(axis)
                axes.append(axis)
                if index == 0:
                    self._heading(figure, axis, word)
            above += GAP_LANES
        if axes:
            self._time_axis(axes[-1])
            self._draw_marks(figure, axes)
        self._title(figure)
        self._foot(figure)
        self._frame(figure)
        return figure

    def _add_axis(self, figure: Figure, above: float) -> Axes:
        """A lane with so many lanes above it."""
        bottom_inches = self.height_inches - HEAD_INCHES - (above + 1) * LANE_INCHES + 0.05
        axis = figure.add_axes(
            (
                LEFT_INCHES / WIDTH_INCHES,
                bottom_inches / self.height_inches,
                1 - (LEFT_INCHES + RIGHT_INCHES) / WIDTH_INCHES,
                (LANE_INCHES - 0.1) / self.height_inches,
            )
        )
        axis.set_xlim(0, seconds(self.ticks))
        axis.patch.set_alpha(0)
        axis.tick_params(left=False, bottom=False, labelbottom=False, labelsize=5.8, pad=2)
        axis.set_yticks([])
        for side in ("top", "right", "left"):
            axis.spines[side].set_visible(False)
        axis.spines["bottom"].set_color(RULE)
        return axis

    def _time_axis(self, axis: Axes) -> None:
        axis.tick_params(axis="x", bottom=True, labelbottom=True, labelsize=7, length=3, pad=3)
        axis.spines["bottom"].set_color(INK)
        length_s = seconds(self.ticks)
        words = "seconds"
        if length_s > LONG_S:
            step_s = next((step for step in STEPS_S if length_s / step <= MOST_STEPS), STEPS_S[-1])
            at_s = [*range(0, int(length_s) + 1, step_s)]
            small_s = 60 if step_s >= 60 else 1
            axis.set_xticks(at_s, [f"{at // small_s // 60}:{at // small_s % 60:02}" for at in at_s])
            words = "hours:minutes" if small_s == 60 else "minutes:seconds"
        axis.set_xlabel(f"{words} from power-up", fontsize=7, labelpad=3, color=INK)

    def _draw_marks(self, figure: Figure, axes: Sequence[Axes]) -> None:
        """A line down all lanes for each mark, and its label above them. A label that would stand
        on another is left away; a failure's never is.
        """
        first = axes[0]
        across = blended_transform_factory(first.transData, figure.transFigure)
        top, bottom = first.get_position().y1, axes[-1].get_position().y0
        length = seconds(self.ticks)
        row_ends = [-1.0] * MARK_ROWS
        for mark in sorted(self.marks):
            at = seconds(mark.tick)
            first.plot(
                [at, at],
                [bottom, top + 0.12 / self.height_inches],
                transform=across,
                color=SECOND if mark.failed else FAINT,
                lw=1.0 if mark.failed else 0.5,
                ls="-" if mark.failed else (0, (2, 2)),
                clip_on=False,
                zorder=0.5,
            )
            text = ("✗ " if mark.failed else "") + shortened(mark.text, 34)
            takes = length * (len(text) + 2) / MARK_LETTERS
            near_end = at + takes > length * 1.03
            begins = at - takes if near_end else at
            row = next((i for i, end in enumerate(row_ends) if begins >= end), None)
            if row is None and not mark.failed:
                continue
            row = MARK_ROWS - 1 if row is None else row
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

    def _heading(self, figure: Figure, first: Axes, word: str) -> None:
        y = first.get_position().y1 + 0.045 / self.height_inches
        left = MARGIN_INCHES / WIDTH_INCHES
        figure.text(left, y, word, fontsize=6, color=FAINT, va="bottom")
        y -= 0.01 / self.height_inches
        right = (LEFT_INCHES - 0.1) / WIDTH_INCHES
        figure.add_artist(Line2D([left, right], [y, y], color=RULE, lw=0.5))

    def _title(self, figure: Figure) -> None:
        left, right = MARGIN_INCHES / WIDTH_INCHES, 1 - MARGIN_INCHES / WIDTH_INCHES
        for text, inches, size, weight in (
            (self.plan.ship, 0.42, 13, "bold"),
            (shortened(self.trace.source or "a trace", 80), 0.66, 8.5, "normal"),
        ):
            y = 1 - inches / self.height_inches
            figure.text(left, y, text, fontsize=size, weight=weight, va="center")
        for text, inches in (
            (f"plan {self.plan.plan_id}", 0.40),
            (f"board {self.plan.board}, run on: {self.rung}", 0.58),
        ):
            y = 1 - inches / self.height_inches
            figure.text(right, y, text, fontsize=7, ha="right", va="center")

    def _foot(self, figure: Figure) -> None:
        if not self.still:
            return
        text = textwrap.shorten(
            "Not drawn, for nothing moved: " + ", ".join(self.still), 460, placeholder=" …"
        )
        figure.text(
            MARGIN_INCHES / WIDTH_INCHES,
            0.36 / self.height_inches,
            textwrap.fill(text, 235),
            fontsize=6,
            color=FAINT,
            va="center",
        )

    def _frame(self, figure: Figure) -> None:
        x, y = 0.16 / WIDTH_INCHES, 0.16 / self.height_inches
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
