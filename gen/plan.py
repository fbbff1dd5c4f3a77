"""The plan: a ship file resolved to integers.

Sketch, model, proofs and papers are all made from it. It is frozen, holds no floating point and
no absolute path, and is hashed to a plan id. Widths are in half microseconds, the grain of the
16 MHz boards' 16-bit timers at a prescaler of 8; times are in ticks of 5 ms.

Every tuple is in canonical order, so that the order of the user's YAML maps never changes the plan
id, the order of evaluation or the digest: by name, but each function behind those that it depends
on. `source_line` is where a thing stands in the ship file: it serves comments and messages and
takes no part in equality or the plan id.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from gen.behaviours.base import Function

FORMAT = 1
"""Raised when the meaning of a plan changes, so that old and new plan ids never meet."""

TICK_US = 5_000
TICK_MS = TICK_US // 1_000
HALF_US_PER_US = 2
NO_POSITION = 255
"""The position of a control that has not been seen since power-up or since its signal was lost."""

MOST_COUNTS = 1023
"""What an analogue reading is at most: 10 bits of the board's supply."""

SERVO_FRACTION = 256
"""A follow keeps its servo's width in 1/256 half microseconds, so that slow moves stay exact."""

MAX_TICKS = 0xFFFF
"""The longest run limit, 5 min 27.675 s: the product of two limits must fit 32 bits."""

ON_ITS_OWN = 0
"""The slot of a control that has its channel for itself or shares its widths with others."""

NOTHING_THERE = -1
"""The channel of a place in the sum signal that nothing on this ship uses."""

SUM_SIGNAL = "sum signal"
"""The name of the input that carries the sum signal."""

FORCE = "force"
"""The name of a trace's column, behind those of the sensors, that says what the bench forces."""

NO_FORCE = 0
"""What stands there while nothing is forced."""

STATES_A_FORCE = 256
"""A force is (its function + 1) times this, and the number among `Function.forces`."""

NO_LINE = field(default=0, compare=False, metadata={"in_plan_id": False})


@dataclass(frozen=True, slots=True)
class Sharing:
    """How one channel carries several controls in turn: a marker, then `slots` slots, each lasting
    `frames_per_slot` pulses, and the marker likewise. A pulse within `marker_half_us` (both ends
    included) is a marker."""

    slots: int
    marker_half_us: tuple[int, int]
    frames_per_slot: int

    @property
    def pulses(self) -> int:
        """The pulses between two markers."""
        return self.slots * self.frames_per_slot

    @property
    def cycle_frames(self) -> int:
        """How many frames a whole cycle takes, the marker included."""
        return self.pulses + self.frames_per_slot


@dataclass(frozen=True, slots=True)
class Channel:
    """One receiver output: on a pin of its own, or on that of the sum signal.

    A pulse outside `valid_half_us` is ignored and counted; one below `lost_below_half_us` (0: no
    such band) or above `lost_above_half_us` (65535: no such band) says that the receiver has lost
    its transmitter and does not keep the channel alive.
    """

    name: str
    code: str
    pin: str
    valid_half_us: tuple[int, int]
    lost_below_half_us: int
    lost_above_half_us: int
    lost_after_ticks: int
    source_line: int = NO_LINE
    sharing: Sharing | None = None


@dataclass(frozen=True, slots=True)
class SumSignal:
    """All channels on one pin, one after another. What lies between two edges of the same kind
    (`falling`, else rising ones) is one place's width, in the order of `channels` (indices into
    `Plan.channels`, or NOTHING_THERE); one of `gap_half_us` or more ends the frame. A frame with
    more or fewer places, or with a width outside `valid_half_us`, is dropped whole."""

    code: str
    pin: str
    channels: tuple[int, ...]
    gap_half_us: int
    valid_half_us: tuple[int, int]
    falling: bool
    source_line: int = NO_LINE


@dataclass(frozen=True, slots=True)
class Input:
    """One pin that listens to the receiver: a channel's own or that of the sum signal. `channels`
    are what it carries."""

    name: str
    pin: str
    channels: tuple[int, ...]
    is_sum: bool


@dataclass(frozen=True, slots=True)
class Position:
    """A named band of pulse widths, both ends included."""

    name: str
    code: str
    low_half_us: int
    high_half_us: int


@dataclass(frozen=True, slots=True)
class Control:
    """What a thumb moves, read from `channel` (an index into `Plan.channels`) or, where that is
    shared, from one of its slots, which count from 1.

    `positions` are in rising order of width and never overlap; `rest` is the index of the position
    in which the control asks for nothing. A proportional control (knob, stick) also has a value,
    which follows a pulse that differs from it by more than `dead_band_half_us`; `ends_half_us`
    are the widths at its two stops.
    """

    name: str
    code: str
    kind: str
    channel: int
    positions: tuple[Position, ...]
    rest: int
    hysteresis_half_us: int
    settle_pulses: int
    proportional: bool
    dead_band_half_us: int
    ends_half_us: tuple[int, int]
    source_line: int = NO_LINE
    slot: int = ON_ITS_OWN


@dataclass(frozen=True, slots=True)
class Line:
    """One digital output: a relay or transistor on a board pin, or on a shift register's output.
    `active_low`: on is 0 V. `shifted` is (an index into `Plan.registers`, its output from 0)."""

    name: str
    code: str
    pin: str
    active_low: bool
    source_line: int = NO_LINE
    shifted: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class ShiftRegister:
    """A chain of 8-bit shift registers with `outputs` outputs. A rising `clock` takes in a level
    from `data` and moves all others one output on; a rising `latch` shows them all at once. As long
    as `blank` ("": there is none) is high, nothing is driven."""

    name: str
    code: str
    data: str
    clock: str
    latch: str
    blank: str
    outputs: int
    source_line: int = NO_LINE

    @property
    def pins(self) -> tuple[str, ...]:
        """The pins of the board that work it."""
        return tuple(filter(None, (self.data, self.clock, self.latch, self.blank)))


@dataclass(frozen=True, slots=True)
class Pair:
    """Two lines that drive one motor two ways (indices into `Plan.lines`); never on together."""

    name: str
    code: str
    first: int
    second: int
    source_line: int = NO_LINE


@dataclass(frozen=True, slots=True)
class Servo:
    """A servo output. `unit` names the timer output that makes its pulses without the processor's
    help ("OC1A"), or is "software". `rest_half_us` is its safe state and its place at power-up."""

    name: str
    code: str
    pin: str
    unit: str
    range_half_us: tuple[int, int]
    rest_half_us: int
    source_line: int = NO_LINE


@dataclass(frozen=True, slots=True)
class Light:
    """A light that can be dimmed, with a duty of 0 to 255. `unit` names the timer output that dims
    it without the processor's help ("OC2B"), or is "software"."""

    name: str
    code: str
    pin: str
    unit: str
    source_line: int = NO_LINE


@dataclass(frozen=True, slots=True)
class AnalogueSensor:
    """A voltage, read as 0 .. MOST_COUNTS of the board's supply. It is smoothed: in each tick it
    goes `share_per_65536` of the way to its reading (0: all the way). `full_scale_uv` is what one
    count more than the most would be, before the divider."""

    name: str
    code: str
    pin: str
    share_per_65536: int
    full_scale_uv: int
    source_line: int = NO_LINE


@dataclass(frozen=True, slots=True)
class DigitalSensor:
    """A contact, 1 while closed and 0 while open. Another state is believed once the pin has been
    at that level for `debounce_ticks` in a row. `active_low`: closed is 0 V, and the pin is pulled
    up."""

    name: str
    code: str
    pin: str
    active_low: bool
    debounce_ticks: int
    source_line: int = NO_LINE


Sensor = AnalogueSensor | DigitalSensor
"""What the ship feels on one pin, read once a tick."""


@dataclass(frozen=True, slots=True)
class Felt:
    """True while a sensor (an index into `Plan.sensors`) is from `low` to `high`, both included:
    counts of an analogue one, 0 (open) or 1 (closed) of a digital one."""

    sensor: int
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Ask:
    """One position of one control: "foredeck key up"."""

    control: int
    position: int


@dataclass(frozen=True, slots=True)
class StateOf:
    """True while a function (an index into `Plan.functions`) is in one of these of its states: in
    those of this tick if it stands earlier in the plan than who looks, else of the tick before."""

    function: int
    states: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Bar:
    """While `of` holds, a function is kept out of those of its own states that are in `states`."""

    states: tuple[int, ...]
    of: StateOf


@dataclass(frozen=True, slots=True)
class First:
    """A function may start only once `of` has held for so many ticks; it may then go on without."""

    of: StateOf
    for_ticks: int


@dataclass(frozen=True, slots=True)
class Gate:
    """What other functions have to say about this one. What a gate does not let through is off.

    `only_while` must all hold; of `bars` none may; `first` is asked of what has not started yet.
    While any function in `both_is_stop` asks for something too, this one stops, as they do. While
    `stage` (an index into `Plan.stages`) says that the battery is low, and then until its controls
    have been at rest, it is off.
    """

    only_while: tuple[StateOf, ...] = ()
    bars: tuple[Bar, ...] = ()
    first: tuple[First, ...] = ()
    both_is_stop: tuple[int, ...] = ()
    stage: int | None = None

    @property
    def watched(self) -> frozenset[int]:
        """The functions whose state opens or closes it."""
        seen = [*self.only_while, *(bar.of for bar in self.bars), *(one.of for one in self.first)]
        return frozenset(one.function for one in seen)


OPEN = Gate()
"""The gate of a function that no other has a say in."""


@dataclass(frozen=True, slots=True)
class Stage:
    """A battery is low once `below` has held for `for_ticks`, and until `above` has held for
    `back_ticks`."""

    below: Felt
    for_ticks: int
    above: Felt
    back_ticks: int


@dataclass(frozen=True, slots=True)
class Bench:
    """A computer may put its own pulses in place of the receiver's and force functions: always or,
    if there is a `jumper`, while that pin is tied to ground at power-up."""

    jumper: str
    source_line: int = NO_LINE


@dataclass(frozen=True)
class Plan:
    """Everything the ship does, in integers. `source` is the ship file's name without its path."""

    ship: str
    code: str
    board: str
    channels: tuple[Channel, ...]
    controls: tuple[Control, ...]
    lines: tuple[Line, ...]
    pairs: tuple[Pair, ...]
    servos: tuple[Servo, ...]
    functions: tuple[Function, ...]
    sensors: tuple[Sensor, ...] = ()
    registers: tuple[ShiftRegister, ...] = ()
    stages: tuple[Stage, ...] = ()
    lights: tuple[Light, ...] = ()
    source: str = field(default="", compare=False, metadata={"in_plan_id": False})
    remark: str = field(default="", compare=False, metadata={"in_plan_id": False})
    sum_signal: SumSignal | None = None
    bench: Bench | None = None

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        """The pins that listen: those of channels with one of their own, then the sum signal's.
        Pulses, traces and reports count inputs by their place here."""
        in_sum = self.sum_signal.channels if self.sum_signal is not None else ()
        own = [
            Input(channel.name, channel.pin, (index,), is_sum=False)
            for index, channel in enumerate(self.channels)
            if index not in in_sum
        ]
        if self.sum_signal is not None:
            carried = tuple(index for index in in_sum if index != NOTHING_THERE)
            own.append(Input(SUM_SIGNAL, self.sum_signal.pin, carried, is_sum=True))
        return tuple(own)

    @property
    def is_recorder(self) -> bool:
        """Whether it is no ship's: it only listens (gen/recorder.py)."""
        return not self.ship

    @property
    def readings(self) -> tuple[str, ...]:
        """What is read in each tick besides pulses, by name: every sensor and, with a bench, what
        it forces. Traces and boards count readings by their place here."""
        sensors = tuple(sensor.name for sensor in self.sensors)
        return sensors if self.bench is None else (*sensors, FORCE)

    @cached_property
    def plan_id(self) -> str:
        """Twelve hexadecimal digits that stand for the behaviour and the pins of this ship."""
        canonical = json.dumps([FORMAT, _hashed(self)], sort_keys=True, ensure_ascii=True)
        return hashlib.sha256(canonical.encode("ascii")).hexdigest()[:12]

    @property
    def kept_bytes(self) -> int:
        """What all functions keep over power-off, in bytes."""
        return sum(function.kept_bytes for function in self.functions)

    def kept_parts(self, kept: bytes) -> list[tuple[int, bytes]]:
        """What each function is given back of what outlived the power, by its index; nothing if
        these are not the bytes that this plan keeps."""
        parts: list[tuple[int, bytes]] = []
        if len(kept) == self.kept_bytes:
            for index, function in enumerate(self.functions):
                if function.kept_bytes:
                    parts.append((index, kept[: function.kept_bytes]))
                    kept = kept[function.kept_bytes :]
        return parts

    @property
    def kept_record_bytes(self) -> int:
        """The same with its running number and its CRC."""
        return self.kept_bytes + 4

    @property
    def mark(self) -> int:
        """16 bits of the plan id: what another plan has kept is not ours."""
        return int(self.plan_id[:4], 16)

    def ask_code(self, ask: Ask) -> str:
        """The sketch's name for one position of one control: "foredeck_key_up"."""
        control = self.controls[ask.control]
        return f"{control.code}_{control.positions[ask.position].code}"

    def value_code(self, control: int) -> str:
        """The sketch's name for where a stick or knob points: "light_knob_value"."""
        return f"{self.controls[control].code}_value"


def force_of(function: int, state: int) -> int:
    """The reading that forces a function (an index into `Plan.functions`) into the state of this
    number among its `forces`."""
    return (function + 1) * STATES_A_FORCE + state


def forced_by(reading: int) -> tuple[int, int] | None:
    """The function and the state's number that such a reading names, None if it is NO_FORCE."""
    function, state = divmod(reading, STATES_A_FORCE)
    return (function - 1, state) if function else None


def _hashed(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        members = {
            member.name: _hashed(getattr(value, member.name))
            for member in fields(value)
            if member.metadata.get("in_plan_id", True)
        }
        return {"is": type(value).__name__, **members}
    if isinstance(value, tuple):
        return [_hashed(item) for item in value]
    if isinstance(value, float):
        raise TypeError("a plan holds no floating point")
    return value
