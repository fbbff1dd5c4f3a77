"""Which channel, and which of its slots, a pulse on a pin belongs to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from gen.plan import NOTHING_THERE
from host_tools.model.shared import SumState

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gen.plan import Plan, Sharing

ALONE: Final = 0
MARKER: Final = -1
NOBODY_KNOWS: Final = -2


class Heard(NamedTuple):
    """A pulse of a channel. `slot` counts from 1 on a shared channel, is ALONE on any other one,
    and NOBODY_KNOWS until a marker has come."""

    channel: int
    half_us: int
    slot: int


class Hearing:
    """Follows sum signal and shared channels, for who watches; what they mean is the model's."""

    def __init__(self, plan: Plan) -> None:
        self._inputs = plan.inputs
        self._sum = SumState(plan.sum_signal) if plan.sum_signal is not None else None
        self._slots = [
            _Slots(channel.sharing) if channel.sharing is not None else None
            for channel in plan.channels
        ]

    def heard(self, pulses: Iterable[tuple[int, int]]) -> list[Heard]:
        """The pulses (input, width) of one tick, channel by channel."""
        return [
            Heard(channel, width, self._slot(channel, width))
            for source, width in pulses
            for channel, width in self._channels(source, width)
        ]

    def _channels(self, source: int, width: int) -> Iterator[tuple[int, int]]:
        one = self._inputs[source]
        if not one.is_sum:
            yield one.channels[0], width
        elif self._sum is not None and self._sum.completes(width):
            for channel, place in zip(self._sum.channels, self._sum.widths, strict=True):
                if channel != NOTHING_THERE:
                    yield channel, place

    def _slot(self, channel: int, width: int) -> int:
        slots = self._slots[channel]
        return slots.slot(width) if slots is not None else ALONE


class _Slots:
    def __init__(self, sharing: Sharing) -> None:
        self._low, self._high = sharing.marker_half_us
        self._frames = sharing.frames_per_slot
        self._whole = sharing.pulses
        self._pulses = self._whole

    def slot(self, width: int) -> int:
        if self._low <= width <= self._high:
            self._pulses = 0
            return MARKER
        if self._pulses >= self._whole:
            return NOBODY_KNOWS
        self._pulses += 1
        return 1 + (self._pulses - 1) // self._frames
