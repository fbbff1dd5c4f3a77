"""The lanes of a picture: one control or one function each, over the same time."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.transforms import blended_transform_factory

from gen.plan import ON_ITS_OWN
from gen.response import FRAME_TICKS
from host_tools.model.streams import heard, streams_of
from host_tools.plot.style import (
    FAINT,
    FIRST,
    HATCH,
    INK,
    PAPER,
    RULE,
    SECOND,
    SILENCE,
    seconds,
    us,
)
from host_tools.trace import NO_PULSE

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from numpy.typing import NDArray

    from gen.behaviours import Function
    from gen.plan import Control, Plan
    from host_tools.model.streams import Heard
    from host_tools.plot.style import Scale
    from host_tools.states import Doing
    from host_tools.trace import Trace

MOST_POINTS = 3000
"""More points than this on one lane cannot be told apart: it is drawn as its outline."""

MOST_OUTLINES = 100
"""With more bars on a lane their outlines would hide them."""

MOST_NAMES_BESIDE = 3
"""More names of positions than this do not fit beside a lane."""

MOST_LETTERS = 26
"""A longer name of a control or function is shortened."""


@dataclass(frozen=True)
class ControlLane:
    """What a control's channel put out, over the bands of the control's positions."""

    plan: Plan
    control: Control
    trace: Trace

    @property
    def name(self) -> str:
        """What stands before the lane."""
        return self.control.name

    @property
    def moves(self) -> bool:
        """Whether there is a move to be seen."""
        widths = self._pulses()[1].astype(np.int64)
        return bool(len(widths)) and bool(np.ptp(widths) > 2 * self.control.hysteresis_half_us)

    @property
    def falls_silent(self) -> bool:
        """Whether its channel is lost at any time."""
        return bool(self._lost())

    def draw(self, axis: Axes) -> None:
        """Fill one lane."""
        control = self.control
        bands = [(p.low_half_us, p.high_half_us) for p in control.positions]
        names = [position.name for position in control.positions]
        at, widths = self._pulses()
        lowest = min([bands[0][0], *widths[:1].tolist(), int(widths.min(initial=0xFFFF))])
        highest = max(bands[-1][1], int(widths.max(initial=0)))
        axis.set_ylim(us(lowest - 60), us(highest + 60))
        for low, high in bands:
            axis.axhspan(us(low), us(high), color=INK, alpha=0.08, lw=0)
        if control.proportional:
            ends = [us(end) for end in control.ends_half_us]
            axis.set_yticks(ends, [f"{end:g} us" for end in ends])
        elif len(bands) <= MOST_NAMES_BESIDE:
            middles = [us((low + high) / 2) for low, high in bands]
            axis.set_yticks(middles, [shortened(name, 14) for name in names])
        for start, end in self._lost():
            span = axis.axvspan(seconds(start), seconds(end), fc=SILENCE, ec=RULE, lw=0)
            span.set_hatch(HATCH)
            if end - start > self.trace.ticks * 0.06:
                _word(axis, (start + end) / 2, "no signal", color=INK, box=PAPER)
        # A pulse says where the control is until the next one; silence says nothing.
        channel = self.plan.channels[control.channel]
        patience = channel.lost_after_ticks
        if channel.sharing is not None:
            patience += 2 * channel.sharing.cycle_frames * FRAME_TICKS
        silent = np.flatnonzero(np.diff(at) > patience)
        for part_at, part in zip(
            np.split(at, silent + 1), np.split(widths, silent + 1), strict=True
        ):
            curve(axis, part_at, part, us, color=INK, width=1.0)
        if len(bands) > MOST_NAMES_BESIDE:
            self._name_positions(axis, at, widths)

    def _name_positions(
        self, axis: Axes, at: NDArray[np.int64], widths: NDArray[np.uint16]
    ) -> None:
        """With many positions their names stand where they are taken, not at the side."""
        place = np.full(len(widths), self.control.rest)
        for index, position in enumerate(self.control.positions):
            place[(widths >= position.low_half_us) & (widths <= position.high_half_us)] = index
        for start, end in runs(place):
            index = int(place[start])
            if index != self.control.rest and at[end - 1] - at[start] > self.trace.ticks * 0.02:
                middle = (at[start] + at[end - 1]) / 2
                _word(axis, middle, self.control.positions[index].name, color=INK, box=PAPER)

    def _pulses(self) -> tuple[NDArray[np.int64], NDArray[np.uint16]]:
        """Every pulse on a pin of its own; of a slot or a place in a sum signal what was heard."""
        channel = self.control.channel
        for number, one in enumerate(self.plan.inputs):
            if one.channels == (channel,) and not one.is_sum and self.control.slot == ON_ITS_OWN:
                column = self.trace.widths_half_us[:, number]
                spoke = column != NO_PULSE
                return self.trace.at[spoke], column[spoke]
        said = self._heard(self.control.slot)
        return self.trace.at[said.rows], said.widths

    def _heard(self, slot: int) -> Heard:
        streams = zip(streams_of(self.plan), heard(self.plan, self.trace), strict=True)
        mine = (self.control.channel, slot)
        return next(said for one, said in streams if (one.channel, one.slot) == mine)

    def _lost(self) -> list[tuple[int, int]]:
        """When the channel had been silent, or in a band that tells so, for too long."""
        said = self._heard(ON_ITS_OWN)
        begins = np.append(self.trace.at[said.rows[said.first]], self.trace.ticks)
        ends = said.lost_at[said.first]
        spells = zip(ends.tolist(), begins[1:].tolist(), strict=True)
        return [(lost, back) for lost, back in spells if lost < back]


@dataclass(frozen=True)
class FunctionLane:
    """What a function did: its states as bars, or where its servo was told to be."""

    doing: Doing
    function: Function

    @property
    def name(self) -> str:
        """What stands before the lane."""
        return self.function.name

    @property
    def acts(self) -> bool:
        """Whether it ever leaves its rest."""
        return bool(self.doing.state(self.function).any())

    def draw(self, axis: Axes) -> None:
        """Fill one lane."""
        function = self.function
        if function.lines or function.level_patterns is not None:
            self._states(axis)
        else:
            for light in function.lights:
                self._light(axis, light)
            for servo in self.function.servos:
                self._servo(axis, servo)

    def _servo(self, axis: Axes, servo: int) -> None:
        widths = self.doing.servo_half_us(servo)
        described = self.doing.plan.servos[servo]
        low, high = described.range_half_us
        margin = max((high - low) // 12, 1)
        axis.set_ylim(us(low - margin), us(high + margin))
        axis.set_yticks([us(low), us(high)], [f"{us(low):g} us", f"{us(high):g} us"])
        axis.axhline(us(described.rest_half_us), color=FAINT, lw=0.5, ls=(0, (4, 3)))
        curve(axis, np.arange(len(widths)), widths, us)

    def _light(self, axis: Axes, light: int) -> None:
        axis.set_ylim(-10, 265)
        axis.set_yticks([0, 255], ["dark", "full"])
        levels = self.doing.record.levels[:, light].astype(np.uint16)
        told = np.concatenate([[True], levels[1:] != levels[:-1]])
        axis.step(
            seconds(np.append(np.flatnonzero(told), len(levels))),
            np.append(levels[told], levels[-1:]),
            where="post",
            color=FIRST,
            lw=1.3,
        )

    def _states(self, axis: Axes) -> None:
        axis.set_ylim(0, 1)
        words = self.function.states
        state = self.doing.state(self.function)
        # What looks as off does has no bar: the dark part of a rhythm.
        looks = [index for index in range(1, len(words)) if self._lit(index)]
        steps = len(looks)
        if steps > 1:
            for above in range(1, steps):
                axis.axhline(above / steps, color=RULE, lw=0.6)
            shown = looks if steps <= MOST_NAMES_BESIDE else [looks[0], looks[-1]]
            places = [(looks.index(index) + 0.5) / steps for index in shown]
            axis.set_yticks(places, [shortened(words[index], 14) for index in shown])
        spans = [(int(state[start]), start, end) for start, end in runs(state) if state[start]]
        for index in sorted({index for index, _, _ in spans}):
            low, high = (0.02, 0.98) if steps > 1 else (0.12, 0.88)
            if steps > 1 and index in looks:
                place = looks.index(index)
                low, high = max(low, place / steps), min(high, (place + 1) / steps)
            here = [(start, end) for one, start, end in spans if one == index]
            word = words[index] if steps == 1 else ""
            bars(axis, here, (low, high), word, len(state), second=index % 2 == 0)

    def _lit(self, state: int) -> bool:
        duties = self.function.level_patterns
        return bool(self.function.patterns[state] or (duties is not None and any(duties[state])))


def runs(values: NDArray[Any]) -> list[tuple[int, int]]:
    """Where equal values begin and end."""
    edges = np.flatnonzero(np.diff(values)) + 1
    ends = [0, *edges.tolist(), len(values)]
    return list(pairwise(ends)) if len(values) else []


def outline(
    at: NDArray[np.int64], widths: NDArray[np.uint16]
) -> tuple[NDArray[np.int64], NDArray[np.uint16], NDArray[np.uint16]]:
    """The lowest and the highest width in each of as many stretches as can be told apart."""
    starts = np.linspace(0, len(at), MOST_POINTS // 2, endpoint=False).astype(np.int64)
    return at[starts], np.minimum.reduceat(widths, starts), np.maximum.reduceat(widths, starts)


def shortened(text: str, letters: int) -> str:
    """A text that fits."""
    return textwrap.shorten(text, letters, placeholder="…")


def bars(
    axis: Axes,
    spans: list[tuple[int, int]],
    height: tuple[float, float],
    word: str,
    ticks: int,
    *,
    color: str = FIRST,
    second: bool = False,
) -> None:
    """One bar for each span of ticks, with a word in those that are long enough among all
    `ticks`."""
    if not spans:
        return
    for start, end in spans:
        if word and end - start > ticks * 0.03:
            _word(axis, (start + end) / 2, word, color=PAPER)
    low, high = height
    left, right = seconds(np.array(spans).T)
    axis.broken_barh(
        list(zip(left, right - left, strict=True)),
        (low, high - low),
        facecolor=SECOND if second else color,
        edgecolor=PAPER,
        hatch=HATCH if second else None,
        lw=0,
    )
    if len(spans) > MOST_OUTLINES:
        return
    # One line for all outlines, broken between two bars.
    gap = np.full_like(left, np.nan)
    across = np.stack([left, left, right, right, gap], axis=1).ravel()
    upright = np.tile([low, high, high, low, np.nan], len(spans))
    axis.plot(across, upright, color=INK, lw=0.6, clip_on=False)


def curve(
    axis: Axes,
    at: NDArray[np.int64],
    values: NDArray[np.uint16],
    scale: Scale,
    *,
    color: str = FIRST,
    width: float = 1.3,
) -> None:
    """Values that hold from one tick to the next, on the `scale` of the lane."""
    if len(at) > 2:
        told = np.concatenate([[True], values[1:-1] != values[:-2], [True]])
        at, values = at[told], values[told]
    if len(at) > MOST_POINTS:
        at, low, high = outline(at, values)
        axis.fill_between(seconds(at), scale(low), scale(high), color=color, lw=0.6)
    elif len(at):
        axis.step(seconds(at), scale(values), where="post", color=color, lw=width)


def _word(axis: Axes, tick: float, text: str, *, color: str, box: str | None = None) -> None:
    axis.text(
        seconds(tick),
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
