"""A transmitter and its receiver, as pulses by the tick, and what the sensors are given to feel.

Every channel puts out one pulse a frame of 20 ms (common practice, no source), the channels spread
over the frame one after another. Two controls read from one channel are two readings of one stick:
the one moved last says where it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from host_tools.sensing import rest_reading
from host_tools.trace import NO_PULSE, Trace

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from gen.plan import Channel, Plan

FRAME_MS = 20
FRAME_TICKS = FRAME_MS // TICK_MS


class Transmitter:
    """Starts with every control at rest and nothing put out yet; `now` is the tick to come."""

    def __init__(self, plan: Plan) -> None:
        self.now = 0
        self._plan = plan
        self._channels = len(plan.channels)
        self._lost: set[int] = set()
        self._stick_half_us = np.array(
            [_rest_half_us(plan, channel) for channel in range(self._channels)], np.uint16
        )
        self._turn = np.arange(self._channels) * FRAME_TICKS // max(self._channels, 1)
        self._felt = [(0, index, rest_reading(plan, index)) for index in range(len(plan.sensors))]
        self._at: list[NDArray[np.int64]] = []
        self._rows: list[NDArray[np.uint16]] = []

    def feel(self, sensor: int, reading: int) -> None:
        """Let a sensor read something else from now on."""
        self._felt.append((self.now, sensor, reading))

    def put(self, control: int, position: int) -> None:
        """Lay a control in the middle of a position's band."""
        band = self._plan.controls[control].positions[position]
        self.move(control, (band.low_half_us + band.high_half_us) // 2)

    def move(self, control: int, half_us: int) -> None:
        """Move a control so that its channel puts out `half_us`."""
        self._stick_half_us[self._plan.controls[control].channel] = half_us

    def lose(self, channels: Iterable[int]) -> None:
        """Let these channels do what their receiver does without a transmitter."""
        self._lost.update(channels)

    def restore(self, channels: Iterable[int]) -> None:
        """Let these channels follow the transmitter again."""
        self._lost.difference_update(channels)

    @property
    def lost(self) -> frozenset[int]:
        """The channels whose transmitter is not heard."""
        return frozenset(self._lost)

    def run(self, ticks: int) -> None:
        """Let time pass."""
        self._run(ticks, self._frame())

    def send(self, channel: int, half_us: int) -> None:
        """Let one frame pass, with `half_us` as the pulse of `channel` in it, lost or not."""
        frame = self._frame()
        frame[channel] = half_us
        self._run(FRAME_TICKS, frame)

    def trace(self, source: str) -> Trace:
        """All that has been put out so far."""
        at = np.concatenate([*self._at, np.zeros(0, np.int64)])
        rows = np.concatenate([*self._rows, np.zeros((0, self._channels), np.uint16)])
        spoke = rows.any(axis=1)
        trace = Trace(
            ticks=self.now,
            channels=tuple(channel.name for channel in self._plan.channels),
            at=at[spoke],
            widths_half_us=rows[spoke],
            ship=self._plan.ship,
            plan_id=self._plan.plan_id,
            source=source,
        )
        felt = [one for one in self._felt if one[0] < self.now]
        sensors = tuple(sensor.name for sensor in self._plan.sensors)
        return trace.with_readings(sensors, felt) if felt else trace

    def _frame(self) -> NDArray[np.uint16]:
        frame = self._stick_half_us.copy()
        for channel in self._lost:
            frame[channel] = preset_half_us(self._plan.channels[channel])
        return frame

    def _run(self, ticks: int, frame: NDArray[np.uint16]) -> None:
        at = np.arange(self.now, self.now + ticks, dtype=np.int64)
        by_turn = np.where(self._turn == np.arange(FRAME_TICKS)[:, None], frame, NO_PULSE)
        self._at.append(at)
        self._rows.append(by_turn[at % FRAME_TICKS].astype(np.uint16))
        self.now += ticks


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


def _rest_half_us(plan: Plan, channel: int) -> int:
    """Where the stick of a channel lies untouched: in the rest of all controls that read it, or
    of the first when they have none in common.
    """
    bands = [
        control.positions[control.rest] for control in plan.controls if control.channel == channel
    ]
    if not bands:
        low, high = plan.channels[channel].valid_half_us
        return (low + high) // 2
    low, high = max(band.low_half_us for band in bands), min(band.high_half_us for band in bands)
    if low > high:
        low, high = bands[0].low_half_us, bands[0].high_half_us
    return (low + high) // 2
