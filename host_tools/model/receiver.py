"""Channels and controls, as `logic/channel.h` and `logic/control.h` have them; what comes one after
another is in `shared.py`."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np

from gen.plan import NO_POSITION, ON_ITS_OWN
from host_tools.model.shared import SharingState

if TYPE_CHECKING:
    from gen.plan import Channel, Control, Position

BAD: Final = 0
"""A pulse outside the valid range: counted, otherwise ignored."""

PRESET: Final = 1
"""A pulse in a lost band: not noise, but no sign of life either."""

GOOD: Final = 2

ALL_WIDTHS = np.arange(0x10000, dtype=np.int64)


ARMED: Final = 1
LOST: Final = 2

NEVER_HEARD: Final = 0xFFFF
"""The age of a channel before its first good pulse: it is not alive, and not lost either."""


class ChannelState:
    """A channel at work. While it is alive its age is not stored but counts from `heard_at`, the
    tick of its last good pulse; `still_age` is its age while it is not."""

    __slots__ = (
        "alive",
        "bad_pulses",
        "controls",
        "heard_at",
        "lost",
        "lost_after",
        "lost_at",
        "sharing",
        "still_age",
        "verdicts",
    )

    def __init__(self, channel: Channel) -> None:
        self.lost_after = channel.lost_after_ticks
        self.verdicts = pulse_verdicts(channel).tobytes()
        self.sharing = SharingState(channel.sharing) if channel.sharing is not None else None
        self.controls: list[ControlState] = []
        self.bad_pulses = 0
        self.alive = False
        self.lost = False
        self.still_age = NEVER_HEARD
        self.heard_at = 0
        self.lost_at = 0

    def wake(self) -> None:
        """A good pulse came after silence."""
        self.alive = True
        self.lost = False

    def lose(self) -> None:
        """It was heard once and is no longer."""
        self.alive = False
        self.lost = True
        self.still_age = self.lost_after

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it while it is not alive."""
        fields = (self.still_age, self.bad_pulses)
        return fields if self.sharing is None else (*fields, *self.sharing.fields())


def pulse_verdicts(channel: Channel) -> np.ndarray[tuple[int], np.dtype[np.uint8]]:
    """BAD, PRESET or GOOD for every width that there can be."""
    low, high = channel.valid_half_us
    verdicts = np.full(len(ALL_WIDTHS), GOOD, dtype=np.uint8)
    preset = (ALL_WIDTHS < channel.lost_below_half_us) | (ALL_WIDTHS > channel.lost_above_half_us)
    verdicts[preset] = PRESET
    verdicts[(ALL_WIDTHS < low) | (ALL_WIDTHS > high)] = BAD
    return verdicts


@lru_cache(maxsize=256)
def seen_positions(positions: tuple[Position, ...], hysteresis_half_us: int) -> tuple[bytes, ...]:
    """For each present position (the last entry: none) the position that every width is seen in.

    The present position's band is widened by the hysteresis and is asked first.
    """
    plain = np.full(len(ALL_WIDTHS), NO_POSITION, dtype=np.uint8)
    for index, position in enumerate(positions):
        plain[position.low_half_us : position.high_half_us + 1] = index
    tables = []
    for index, position in enumerate(positions):
        table = plain.copy()
        low = max(0, position.low_half_us - hysteresis_half_us)
        table[low : position.high_half_us + hysteresis_half_us + 1] = index
        tables.append(table.tobytes())
    return (*tables, plain.tobytes())


class ControlState:
    """A control at work: where it is believed to be."""

    __slots__ = (
        "armed",
        "candidate",
        "channel",
        "count",
        "dead_band",
        "functions",
        "position",
        "proportional",
        "rest",
        "settle",
        "slot",
        "tables",
        "value",
    )

    def __init__(self, control: Control, channel: ChannelState) -> None:
        self.channel = channel
        self.tables = dict(
            zip(
                (*range(len(control.positions)), NO_POSITION),
                seen_positions(control.positions, control.hysteresis_half_us),
                strict=True,
            )
        )
        self.rest = control.rest
        self.settle = control.settle_pulses
        self.slot = control.slot - 1
        self.proportional = control.proportional
        self.dead_band = control.dead_band_half_us
        self.position = NO_POSITION
        self.candidate = NO_POSITION
        self.count = 0
        self.armed = False
        self.value = 0
        self.functions: list[int] = []

    def hear(self, width: int) -> bool:
        """Takes a good pulse; says whether anything was remembered of it."""
        changed = False
        seen = self.tables[self.position][width]
        if seen in (NO_POSITION, self.position):
            if self.count:
                self.count = 0
                changed = True
        else:
            if seen != self.candidate:
                self.candidate = seen
                self.count = 0
            self.count += 1
            if self.count >= self.settle:
                self.position = seen
                self.count = 0
            changed = True
        if self.proportional and abs(width - self.value) > self.dead_band:
            self.value = width
            changed = True
        return changed

    def forget(self) -> None:
        """The channel is lost: nothing is believed until it is seen, and at rest, again."""
        self.position = NO_POSITION
        self.candidate = NO_POSITION
        self.count = 0
        self.armed = False

    def held_at(self, position: int) -> bool:
        """Whether it asks for `position`."""
        return self.armed and self.position == position

    def at_rest(self) -> bool:
        """Whether it asks for nothing, and is known to."""
        return self.held_at(self.rest)

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it, in words as memory has them."""
        flags = (ARMED if self.armed else 0) | (LOST if self.channel.lost else 0)
        fields = (bytes_as_word(self.position, self.candidate), bytes_as_word(self.count, flags))
        return (*fields, self.value) if self.proportional else fields


class SlotControlState(ControlState):
    """A control on a shared channel, which hears one width a cycle: it leaves a position at once
    and takes a new one as late as ever; its value moves as far as two cycles agree."""

    __slots__ = ("has_value", "last")

    def __init__(self, control: Control, channel: ChannelState) -> None:
        super().__init__(control, channel)
        self.has_value = control.proportional
        self.proportional = False  # its value follows in another way than that of others
        self.last = 0

    def hear(self, width: int) -> bool:
        left = self.position not in (NO_POSITION, self.tables[self.position][width])
        if left:
            self.position = NO_POSITION
        changed = super().hear(width) or left
        if self.has_value:
            low, high = min(width, self.last), max(width, self.last)
            if low > self.value + self.dead_band:
                self.value = low
            elif high < self.value - self.dead_band:
                self.value = high
            self.last = width
            changed = True
        return changed

    def fields(self) -> tuple[int, ...]:
        fields = super().fields()
        return (*fields, self.value, self.last) if self.has_value else fields


def control_state(control: Control, channel: ChannelState) -> ControlState:
    """The control at work, by where it is read from."""
    in_slot = control.slot != ON_ITS_OWN
    return SlotControlState(control, channel) if in_slot else ControlState(control, channel)


def bytes_as_word(low: int, high: int) -> int:
    """Two bytes that lie side by side, as the digest reads them."""
    return low | high << 8
