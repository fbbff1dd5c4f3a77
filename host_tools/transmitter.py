"""A transmitter and its receiver, as pulses by the tick, and what the sensors are given to feel.

A channel with a pin of its own puts out one pulse a frame of 20 ms (common practice, no source),
the channels spread over the frame one after another. A shared channel says one slot, or its
marker, each frame. A sum signal has all its channels one after another in each frame, which is
20 ms or, with many channels, as long as it has to be. Two controls read from one channel are two
readings of one stick: the one moved last says where it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import HALF_US_PER_US, NOTHING_THERE, TICK_US
from gen.response import FRAME_TICKS
from host_tools.rows import as_rows
from host_tools.sensing import rest_reading
from host_tools.trace import NO_PULSE, Trace

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from gen.plan import Channel, Control, Plan, SumSignal

TICK_HALF_US = TICK_US * HALF_US_PER_US

SEEN_TIMES = 2
"""What a control's settle pulses need besides until its move has surely been seen."""

SUM_PHASE_HALF_US = 2_000
"""A frame of a sum signal begins 1 ms into a tick, well away from either end of it."""

SUM_WIDEST_HALF_US = 4_200
"""A transmitter's widest pulse: 150 % of a usual travel."""

UNUSED_HALF_US = 3_000
"""What stands in a place of the sum signal that nobody needs: a stick in its middle."""

LONGEST_HALF_US = 40_000
SILENCE_HALF_US = 0xFFFF
"""A board tells of a longer time between two edges only that it is too long."""


class Transmitter:
    """Starts with every control at rest and nothing put out yet; `now` is the tick to come."""

    def __init__(self, plan: Plan) -> None:
        self.now = 0
        self._plan = plan
        self._lost: set[int] = set()
        self._sticks = [_Stick(plan, index) for index in range(len(plan.channels))]
        own = sum(not one.is_sum for one in plan.inputs)
        self._turns = [
            (number, one.channels[0], number * FRAME_TICKS // own)
            for number, one in enumerate(plan.inputs)
            if not one.is_sum
        ]
        self._sum = SumEncoder(plan.sum_signal) if plan.sum_signal is not None else None
        self._pulses: list[tuple[NDArray[np.int64], int, NDArray[np.int64]]] = []
        self._felt = [(0, index, rest_reading(plan, index)) for index in range(len(plan.sensors))]

    def feel(self, sensor: int, reading: int) -> None:
        """Let a sensor read something else from now on."""
        self._felt.append((self.now, sensor, reading))

    def put(self, control: int, position: int) -> None:
        """Lay a control in the middle of a position's band."""
        band = self._plan.controls[control].positions[position]
        self.move(control, (band.low_half_us + band.high_half_us) // 2)

    def move(self, control: int, half_us: int) -> None:
        """Move a control so that its channel, or its slot, puts out `half_us`."""
        moved = self._plan.controls[control]
        self._sticks[moved.channel].says[moved.slot] = half_us

    def lose(self, channels: Iterable[int]) -> None:
        """Let these channels do what their receiver does without a transmitter. A sum signal in
        which one of them would fall silent is silent as a whole."""
        self._lost.update(channels)

    def restore(self, channels: Iterable[int]) -> None:
        """Let these channels follow the transmitter again."""
        self._lost.difference_update(channels)

    @property
    def lost(self) -> frozenset[int]:
        """The channels whose transmitter is not heard."""
        return frozenset(self._lost)

    def seen_ticks(self, control: Control) -> int:
        """How long it takes until a move of this control has surely been seen."""
        stick = self._sticks[control.channel]
        times = (control.settle_pulses + SEEN_TIMES) * len(stick.cycle)
        return times * self._frame_ticks(control.channel)

    def run(self, ticks: int) -> None:
        """Let time pass."""
        until = self.now + ticks
        for number, channel, turn in self._turns:
            at = np.arange(self.now + (turn - self.now) % FRAME_TICKS, until, FRAME_TICKS)
            if len(at):
                self._pulses.append((at, number, self._widths(channel, len(at))))
        if self._sum is not None:
            starts = np.arange(self.now + -self.now % self._sum.ticks, until, self._sum.ticks)
            if len(starts):
                places = [self._place(channel, len(starts)) for channel in self._sum.channels]
                at, intervals = self._sum.frames(starts, np.column_stack(places))
                self._pulses.append((at, len(self._plan.inputs) - 1, intervals))
        self.now = until

    def send(self, channel: int, half_us: int) -> None:
        """Let one frame pass, with `half_us` as the pulse of `channel` in it, lost or not."""
        self._sticks[channel].instead = half_us
        self.run(self._frame_ticks(channel))
        self._sticks[channel].instead = NO_PULSE

    def take(self) -> tuple[list[tuple[int, int, int]], list[tuple[int, int, int]]]:
        """The pulses (tick, input, width) that have been put out and the readings (tick, sensor,
        reading) that were set since this was asked last, in order; they are forgotten here."""
        pulses: list[tuple[int, int, int]] = []
        later = []
        for at, number, widths in self._pulses:
            out = at < self.now
            taken = zip(at[out].tolist(), widths[out].tolist(), strict=True)
            pulses += [(tick, number, width) for tick, width in taken if width != NO_PULSE]
            if not out.all():  # the rest of a frame that has begun
                later.append((at[~out], number, widths[~out]))
        felt = [one for one in self._felt if one[0] < self.now]
        self._pulses, self._felt = later, self._felt[len(felt) :]
        return sorted(pulses, key=lambda pulse: pulse[0]), felt

    def trace(self, source: str) -> Trace:
        """All that has been put out so far."""
        at = np.concatenate([np.zeros(0, np.int64), *(at for at, _, _ in self._pulses)])
        inputs = np.repeat(
            [number for _, number, _ in self._pulses], [len(at) for at, _, _ in self._pulses]
        )
        widths = np.concatenate([np.zeros(0, np.int64), *(widths for *_, widths in self._pulses)])
        out = (widths != NO_PULSE) & (at < self.now)
        rows, table = as_rows(at[out], inputs[out], widths[out], len(self._plan.inputs))
        trace = Trace(
            ticks=self.now,
            channels=tuple(one.name for one in self._plan.inputs),
            at=rows,
            widths_half_us=table,
            ship=self._plan.ship,
            plan_id=self._plan.plan_id,
            source=source,
        )
        felt = [one for one in self._felt if one[0] < self.now]
        sensors = tuple(sensor.name for sensor in self._plan.sensors)
        return trace.with_readings(sensors, felt) if felt else trace

    def _frame_ticks(self, channel: int) -> int:
        in_sum = self._sum is not None and channel in self._sum.channels
        return self._sum.ticks if self._sum is not None and in_sum else FRAME_TICKS

    def _widths(self, channel: int, frames: int) -> NDArray[np.int64]:
        """What a channel puts out in its next frames."""
        stick = self._sticks[channel]
        widths = stick.next_widths(frames)
        if stick.instead == NO_PULSE and channel in self._lost:
            widths[:] = preset_half_us(self._plan.channels[channel])
        return widths

    def _place(self, channel: int, frames: int) -> NDArray[np.int64]:
        if channel == NOTHING_THERE:
            return np.full(frames, UNUSED_HALF_US)
        return self._widths(channel, frames)


class _Stick:
    """What a channel says: one width for ever or, if it is shared, its cycle again and again."""

    def __init__(self, plan: Plan, index: int) -> None:
        channel = plan.channels[index]
        sharing = channel.sharing
        slots = range(sharing.slots + 1) if sharing is not None else range(1)
        self.says = [rest_half_us(plan, index, slot) for slot in slots]
        if sharing is not None:
            self.says[0] = sum(sharing.marker_half_us) // 2
        each = sharing.frames_per_slot if sharing is not None else 1
        self.cycle = np.repeat(np.arange(len(self.says)), each)
        self.instead = NO_PULSE
        self._frame = 0

    def next_widths(self, frames: int) -> NDArray[np.int64]:
        """The next frames, one after another."""
        slots = self.cycle[(self._frame + np.arange(frames)) % len(self.cycle)]
        self._frame += frames
        widths = np.array(self.says, np.int64)[slots]
        if self.instead != NO_PULSE:
            widths[:] = self.instead
        return widths


class SumEncoder:
    """Frames of a sum signal, as what lies between two edges."""

    def __init__(self, described: SumSignal) -> None:
        self.channels = described.channels
        self.gap = described.gap_half_us
        needed = len(self.channels) * SUM_WIDEST_HALF_US + self.gap
        self.ticks = max(FRAME_TICKS, -(-needed // TICK_HALF_US))
        self._last_edge = -1

    def frames(
        self, starts: NDArray[np.int64], places: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The ticks and lengths of all intervals that end in frames that start in these ticks, and
        have these places (a row a frame); a frame with nothing in some place is left out."""
        at, intervals = [], []
        for start, widths in zip(starts.tolist(), places.tolist(), strict=True):
            if NO_PULSE in widths:
                continue
            edge = start * TICK_HALF_US + SUM_PHASE_HALF_US
            if self._last_edge >= 0:
                edge = max(edge, self._last_edge + self.gap)
                pause = edge - self._last_edge
                at.append(edge // TICK_HALF_US)
                intervals.append(pause if pause <= LONGEST_HALF_US else SILENCE_HALF_US)
            for width in widths:
                edge += width
                at.append(edge // TICK_HALF_US)
                intervals.append(width)
            self._last_edge = edge
        return np.array(at, np.int64), np.array(intervals, np.int64)


def preset_half_us(channel: Channel) -> int:
    """What a receiver puts out on `channel` when its transmitter is gone: a width in the band that
    tells so when the channel has one, else NO_PULSE.
    """
    low, high = channel.valid_half_us
    if low < channel.lost_below_half_us:
        return (low + channel.lost_below_half_us - 1) // 2
    if channel.lost_above_half_us < high:
        return (channel.lost_above_half_us + 1 + high) // 2
    return NO_PULSE


def rest_half_us(plan: Plan, channel: int, slot: int) -> int:
    """Where the stick of a channel or slot lies untouched: in the rest of all controls that read
    it, or of the first when they have none in common.
    """
    bands = [
        control.positions[control.rest]
        for control in plan.controls
        if (control.channel, control.slot) == (channel, slot)
    ]
    if not bands:
        low, high = plan.channels[channel].valid_half_us
        return (low + high) // 2
    low, high = max(band.low_half_us for band in bands), min(band.high_half_us for band in bands)
    if low > high:
        low, high = bands[0].low_half_us, bands[0].high_half_us
    return (low + high) // 2
