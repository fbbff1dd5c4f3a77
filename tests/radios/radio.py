"""One radio: what its receiver puts out, and what is amiss with it.

Noise, centres, ends and faults are those of real receivers, measured over 28,816 rows of logs of
decoded pulse widths (8 to 18 channels): standard deviations of 0 to 1.1 us, centres of 1495 to
1514 and ends of 991 to 1070 and 1844 to 2036 us; here the noise reaches 8 us. Frozen values at odd
widths after a loss, single missing samples and one in-between value of a switch that is thrown are
of the same logs.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Thing(Enum):
    """What a thumb moves."""

    KEY = "sprung, three positions"
    SWITCH_3 = "stays, three positions"
    SWITCH_2 = "stays, two positions"
    STICK = "springs to its middle, anywhere between"
    KNOB = "stays anywhere"


class Repeats(Enum):
    """What a frame that is repeated does to those behind it."""

    LATE = "they come a frame later"
    IN_PLACE = "it stands in the place of the next one, which is never seen"


class Drops(Enum):
    """What a frame that is dropped leaves."""

    SILENT = "a frame's time without a pulse"
    SKIPPED = "nothing: the next one comes in its time"


class Loss(Enum):
    """What the receiver does once the transmitter is off."""

    SILENT = "no pulses"
    HOLDS = "repeats the last ones"
    PRESET = "pulses that no thumb can send"
    ODD = "frozen at odd widths"


@dataclass(frozen=True)
class Lever:
    """A control: the width at its lower end, in its middle, at its upper end."""

    name: str
    thing: Thing
    ends_us: tuple[float, float]
    centre_us: float
    rest: float
    """Where it rests, from -1 (the lower end) to 1."""


@dataclass(frozen=True)
class OwnChannel:
    """A channel that carries one control, or (`lever` None) nothing but its middle."""

    name: str
    lever: Lever | None


@dataclass(frozen=True)
class Box:
    """A shared channel: a marker, then a lever each slot."""

    name: str
    levers: tuple[Lever, ...]
    frames_per_slot: int
    marker_us: float
    marker_low: bool


@dataclass(frozen=True)
class Radio:
    """The whole. Shares are of 1; `glitches` is the share of pulses that are spoilt."""

    seed: int
    frame_us: float
    jitter_us: float
    noise_us: float
    own: tuple[OwnChannel, ...]
    box: Box | None
    repeated: float
    dropped: float
    repeats: Repeats
    drops: Drops
    glitches: float
    loss: Loss
    preset_us: float

    @property
    def cycle_s(self) -> float:
        """How long the box takes for all of its slots; a frame without one."""
        frames = (len(self.box.levers) + 1) * self.box.frames_per_slot if self.box else 1
        return frames * self.frame_us / 1e6
