"""The steps of a trial, typed: what gen/read/trial_steps.py reads and host_tools/trial.py runs.

Controls, channels and functions are indices into the plan's, times are in ticks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a trial; `source_line` is where it stands in the ship file."""

    text: str = field(kw_only=True)
    source_line: int = field(kw_only=True)


@dataclass(frozen=True, slots=True)
class Press(Step):
    """Move a control to a position, and back to rest after `ticks`."""

    control: int
    position: int
    ticks: int


@dataclass(frozen=True, slots=True)
class Hold(Step):
    """Move a control to a position and leave it there; `release` is a hold of its rest."""

    control: int
    position: int


@dataclass(frozen=True, slots=True)
class Move(Step):
    """Move a control so that its channel puts out a width."""

    control: int
    half_us: int


@dataclass(frozen=True, slots=True)
class Wait(Step):
    """Let time pass."""

    ticks: int


@dataclass(frozen=True, slots=True)
class LoseSignal(Step):
    """What the receiver does without its transmitter, on some channels."""

    channels: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SignalReturns(Step):
    """The transmitter is heard again, on some channels."""

    channels: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Send(Step):
    """One pulse in place of the next one of a channel."""

    channel: int
    half_us: int


@dataclass(frozen=True, slots=True)
class Sense(Step):
    """A sensor reads something else from now on: counts, or the level of its pin."""

    sensor: int
    reading: int


@dataclass(frozen=True, slots=True)
class PowerUp(Step):
    """The board gets its supply now; what stands before says how the controls lie by then."""


@dataclass(frozen=True, slots=True)
class CutPower(Step):
    """The board loses its supply and gets it back at once; controls stay as they are."""


@dataclass(frozen=True, slots=True)
class InState:
    """A function is in a state (an index into `Function.states`)."""

    function: int
    state: int


@dataclass(frozen=True, slots=True)
class AtWidth:
    """A function's servo is told a width from `low_half_us` to `high_half_us`, both included. When
    they are one width, near it is enough (SERVO_NEAR_HALF_US in host_tools/states.py).
    """

    function: int
    low_half_us: int
    high_half_us: int


@dataclass(frozen=True, slots=True)
class AtLevel:
    """A function's lights are about as bright as `brightness`, of 255."""

    function: int
    brightness: int


@dataclass(frozen=True, slots=True)
class AllIdle:
    """No line is on, no light is lit and, when `servos_too`, every servo that a function moves is
    at rest."""

    servos_too: bool


Claim: TypeAlias = InState | AtWidth | AtLevel | AllIdle
"""What an `expect` can say."""


@dataclass(frozen=True, slots=True)
class Expect(Step):
    """A claim about the outputs: at the end of `ticks` or, when `throughout`, in each of them.
    Without ticks it is about the present one.
    """

    claim: Claim
    ticks: int
    throughout: bool


@dataclass(frozen=True, slots=True)
class Trial:
    """A named list of steps; `source_line` is where the first of them stands in the ship file."""

    name: str
    steps: tuple[Step, ...]
    source_line: int
