"""The transmitter in the page's hand: what comes to a simulated ship's pins tick by tick, with the
faults that are asked for."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, Protocol

from host_tools.transmitter import Transmitter, rest_half_us

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gen.plan import Plan
    from host_tools.trace import Trace

Comes = tuple[list[tuple[int, int]], list[tuple[int, int]]]
"""The pulses (input, half microseconds) and readings (sensor, value) of one tick."""

STRAY_EVERY = 100
"""With noise, one pulse in so many is a stray one of any width."""

STRAY_HALF_US = (200, 6_000)
NARROWEST_HALF_US, WIDEST_HALF_US = 20, 0xFFFF


class Hand(Protocol):
    """Whatever says what comes to the pins."""

    def next(self) -> Comes | None:
        """What comes in the next tick, None once there is no more."""
        ...


def next_of(hand: Hand, radio: Radio) -> tuple[Hand, Comes]:
    """What comes in the next tick, and whose it is: the radio's once the hand has no more."""
    comes = hand.next()
    return (radio, radio.next()) if comes is None else (hand, comes)


class Radio:
    """Begins with every control at rest. `noise_half_us` is how far a pulse may be off either way,
    `drop_percent` how many of them never come; the same `seed`, the same noise."""

    def __init__(self, plan: Plan, seed: int = 1) -> None:
        self.plan = plan
        self.noise_half_us = 0
        self.drop_percent = 0
        self._transmitter = Transmitter(plan)
        self._random = random.Random(seed)

    @property
    def lost(self) -> list[int]:
        """The channels whose transmitter is not heard."""
        return sorted(self._transmitter.lost)

    def put(self, control: int, position: int) -> None:
        """Lay a control in the middle of a position, within what its channel takes for a pulse."""
        band = self.plan.controls[control].positions[position]
        low, high = self.reach(control)
        self.move(control, (max(band.low_half_us, low) + min(band.high_half_us, high)) // 2)

    def move(self, control: int, half_us: int) -> None:
        """Move a control so that it puts out this width."""
        self._transmitter.move(control, half_us)

    def rest(self, control: int) -> None:
        """Let go of a control."""
        moved = self.plan.controls[control]
        self.move(control, rest_half_us(self.plan, moved.channel, moved.slot))

    def reach(self, control: int) -> tuple[int, int]:
        """The narrowest and the widest pulse of a control that a board takes for one."""
        return self.plan.channels[self.plan.controls[control].channel].valid_half_us

    def lose(self, channels: Iterable[int]) -> None:
        """Let the transmitter fall silent on these channels."""
        self._transmitter.lose(channels)

    def restore(self, channels: Iterable[int]) -> None:
        """Let it be heard again."""
        self._transmitter.restore(channels)

    def feel(self, sensor: int, reading: int) -> None:
        """Let a sensor's pin say this from now on."""
        self._transmitter.feel(sensor, reading)

    def next(self) -> Comes:
        self._transmitter.run(1)
        pulses, felt = self._transmitter.take()
        return (
            [
                (source, self._noisy(width))
                for _, source, width in pulses
                if not self.drop_percent or self._random.randrange(100) >= self.drop_percent
            ],
            [(sensor, reading) for _, sensor, reading in felt],
        )

    def _noisy(self, width: int) -> int:
        if not self.noise_half_us:
            return width
        if self._random.randrange(STRAY_EVERY) == 0:
            return self._random.randint(*STRAY_HALF_US)
        off = self._random.randint(-self.noise_half_us, self.noise_half_us)
        return min(max(width + off, NARROWEST_HALF_US), WIDEST_HALF_US)


class Player:
    """Plays traces, one after another, instead of a hand."""

    def __init__(self, traces: Iterable[Trace]) -> None:
        self._ticks = _ticks_of(traces)

    def next(self) -> Comes | None:
        return next(self._ticks, None)


def _ticks_of(traces: Iterable[Trace]) -> Iterator[Comes]:
    for trace in traces:
        yield from trace.tick_by_tick()
