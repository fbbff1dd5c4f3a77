"""Pulses for measuring: all channels at 50 frames a second, their edges as near as can be chosen.

Widths are drawn in cycles, not in the half microseconds that the firmware counts, so that what is
measured is its error and not its luck.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.firmware.chip import EVENT

if TYPE_CHECKING:
    from numpy.typing import NDArray

CYCLES_A_US = 16
FRAME_CYCLES = 20_000 * CYCLES_A_US
FIRST_FRAME_CYCLES = 40_000 * CYCLES_A_US
"""Long after any start-up, the Arduino core's too."""

NEAR_CYCLES = (3, 6 * CYCLES_A_US)
PRESS_FRAMES = 20

KINDS = ("stagger", "coincident", "near")
"""One channel after another; all edges at once; edges 0.2 to 6 us apart in random order."""


class Stimulus:
    """`rises` and `widths`, in cycles, one row a frame and one column a channel.

    Frames are 20 ms and a little apart, so that they drift through every phase of the tick. The
    channels are steady at `steady_us` with the noise of a fair receiver (0.5 us), but the one
    numbered `key` is pressed (`pressed_us`) for 20 frames and let go for 20.
    """

    def __init__(
        self,
        kind: str,
        steady_us: list[float],
        *,
        key: int,
        pressed_us: float,
        frames: int,
        seed: int = 1,
    ) -> None:
        draw = np.random.default_rng(seed)
        channels = len(steady_us)
        starts = FIRST_FRAME_CYCLES + np.cumsum(FRAME_CYCLES + draw.integers(0, 200, frames))
        us = np.tile(steady_us, (frames, 1))
        self.key = key
        self.pressed: NDArray[np.bool_] = np.arange(frames) // PRESS_FRAMES % 2 == 1
        us[self.pressed, key] = pressed_us
        noise = draw.normal(0, 0.5, (frames, 1 if kind == "coincident" else channels))
        self.widths: NDArray[np.int64] = np.rint((us + noise) * CYCLES_A_US).astype(np.int64)
        self.rises: NDArray[np.int64] = np.repeat(starts[:, None], channels, axis=1)
        if kind == "stagger":
            self.rises += np.arange(channels) * FRAME_CYCLES // (channels + 1)
        elif kind == "near":
            # Ends are as near to one another as beginnings, in an order of their own.
            falls = self.rises + np.rint(us * CYCLES_A_US).astype(np.int64)
            self.rises += draw.integers(*NEAR_CYCLES, self.rises.shape)
            self.widths = falls + draw.integers(*NEAR_CYCLES, falls.shape) - self.rises

    @property
    def falls(self) -> NDArray[np.int64]:
        """When each pulse ends."""
        return self.rises + self.widths

    def deciding_ends(self, settle_pulses: int) -> NDArray[np.int64]:
        """The ends of the pulses with which the key has settled, pressed or let go."""
        begins = np.flatnonzero(np.diff(self.pressed.astype(np.int8), prepend=0))
        deciding = begins + settle_pulses - 1
        return np.asarray(self.falls[deciding[deciding < len(self.pressed)], self.key])

    def events(self) -> NDArray[np.void]:
        """All edges in the order of time, for `host_tools.firmware.chip.run_chip`."""
        frames, channels = self.rises.shape
        events = np.zeros(2 * frames * channels, dtype=EVENT)
        events["cycle"] = np.concatenate([self.rises.ravel(), self.falls.ravel()])
        events["input"] = np.tile(np.arange(channels), 2 * frames)
        events["level"] = np.repeat([1, 0], frames * channels)
        return events[np.argsort(events["cycle"], kind="stable")]
