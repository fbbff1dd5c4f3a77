"""A drum and its line: layers, how long a run takes, and how hard it pulls.

Each layer lies on the one below, so that the drum grows: line runs faster and pulls less. A run
takes as many turns as there are in its layers, and a constant diameter would give it a tenth too
long.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.electrical.figure import PRACTICE, Figure, Given, Input, Refused

if TYPE_CHECKING:
    from collections.abc import Iterator

LOOSE = Given("loose winding takes", 1.30, "* the room", "winch makers: allow up to 30 %")
"""How much more room line takes that no one lays turn by turn."""

MOST_LAYERS = 1000
"""More than any drum has: sizes that need them are a slip of the pen."""

LAYERS = "exact layers: pi * (D + d * (2 k - 1)) a turn of layer k"


@dataclass(frozen=True)
class Drum:
    """A drum between two flanges, and the line on it. `kept` turns always stay on it."""

    of: str
    barrel_m: Input
    width_m: Input
    flange_m: Input
    line_m: Input
    length_m: Input
    kept: Input

    @property
    def given(self) -> tuple[Input, ...]:
        """What all of its sums are made from."""
        return (self.barrel_m, self.width_m, self.line_m, self.length_m, self.kept)

    @property
    def turns(self) -> int:
        """How many turns lie side by side in a layer; 0 if it is narrower than its line."""
        return int(self.width_m.in_unit("m") / self.line_m.in_unit("m") + 1e-9)

    @property
    def layers(self) -> int:
        """How many layers there is room for between barrel and flanges."""
        room = self.flange_m.in_unit("m") - self.barrel_m.in_unit("m")
        return max(int(room / (2 * self.line_m.in_unit("m")) + 1e-9), 0)

    def free(self, layer: int) -> float:
        """How many turns of a layer, from 1 on, are not kept."""
        kept = self.kept.in_unit("") - (layer - 1) * self.turns
        return self.turns - min(max(kept, 0), self.turns)

    def diameter_m(self, layer: int) -> float:
        """Of a layer, from 1 on, measured to the middle of its line."""
        return self.barrel_m.in_unit("m") + self.line_m.in_unit("m") * (2 * layer - 1)


@dataclass(frozen=True)
class Layer:
    """One layer of a wound drum: `turns` of the travel lie in it (kept turns apart), each of
    `turn_m`."""

    number: int
    diameter_m: float
    turns: float

    @property
    def turn_m(self) -> float:
        """What one turn pays out."""
        return math.pi * self.diameter_m

    @property
    def length_m(self) -> float:
        """What the layer pays out."""
        return self.turns * self.turn_m


def wound(drum: Drum) -> tuple[Layer, ...]:
    """The layers in which the travel lies, the innermost first, on top of the turns that are kept;
    MOST_LAYERS of them at most. They are more than the drum has room for if there is too much
    line."""
    return tuple(_layers(drum))


def _layers(drum: Drum) -> Iterator[Layer]:
    if drum.turns < 1:
        return
    left_m = drum.length_m.in_unit("m")
    for number in range(1, MOST_LAYERS + 1):
        turn_m = math.pi * drum.diameter_m(number)
        turns = min(drum.free(number), left_m / turn_m)
        left_m -= turns * turn_m
        if turns:
            yield Layer(number, drum.diameter_m(number), turns)
        if left_m < 1e-9:
            return


def capacity(drum: Drum) -> Figure:
    """The line that it holds when every layer is full, those turns apart that are kept."""
    metres = sum(
        math.pi * drum.diameter_m(layer) * drum.free(layer) for layer in range(1, drum.layers + 1)
    )
    return Figure(
        drum.of,
        "line that the drum holds",
        metres,
        "m",
        f"L = sum over {drum.layers} layers of {drum.turns} turns, less those that are kept,"
        " of pi * (D + d * (2 k - 1))",
        (drum.barrel_m, drum.flange_m, drum.width_m, drum.line_m, drum.kept),
        LAYERS,
    )


def full(drum: Drum) -> Figure:
    """How much of the drum the line takes if it is wound loosely, in %."""
    holds = capacity(drum)
    share = (
        100 * LOOSE.value * drum.length_m.in_unit("m") / holds.value if holds.value else math.inf
    )
    return Figure(
        drum.of,
        "drum taken by loosely wound line",
        share,
        "%",
        "1.3 * length / line that the drum holds",
        (drum.length_m, holds, LOOSE),
        LOOSE.source,
    )


def revolutions(drum: Drum) -> Figure | Refused:
    """How many turns of the drum the whole travel takes."""
    if drum.turns < 1:
        why = "the drum is narrower than its line"
        return Refused(drum.of, "turns of the drum", why, (drum.width_m, drum.line_m))
    layers = wound(drum)
    if sum(layer.length_m for layer in layers) < drum.length_m.in_unit("m") - 1e-6:
        why = f"the line would take more than {MOST_LAYERS} layers"
        return Refused(drum.of, "turns of the drum", why, drum.given)
    return Figure(
        drum.of,
        "turns of the drum",
        sum(layer.turns for layer in layers),
        "",
        "sum over layers of length / (pi * diameter)",
        drum.given,
        LAYERS,
    )


def drum_rpm(drum: Drum, motor_rpm: Input, gearbox: Input) -> Figure:
    """How fast the drum turns."""
    return Figure(
        drum.of,
        "speed of the drum",
        motor_rpm.in_unit("rpm") / gearbox.in_unit(""),
        "rpm",
        "n = motor / gearbox",
        (motor_rpm, gearbox),
        "a gearbox divides speed",
    )


def run_s(drum: Drum, turns: Input, speed_rpm: Input) -> Figure:
    """How long so many turns take, either way: those of the whole travel are for line that is wound
    tightly; wound loosely it lies further out and takes less."""
    return Figure(
        drum.of,
        "run time",
        60 * turns.in_unit("") / speed_rpm.in_unit("rpm"),
        "s",
        "t = 60 * turns / n",
        (turns, speed_rpm),
        LAYERS,
    )


def turns_in(drum: Drum, speed_rpm: Input, seconds: Input) -> Figure:
    """How many turns the drum makes in a time."""
    return Figure(
        drum.of,
        "turns within the limit",
        speed_rpm.in_unit("rpm") * seconds.in_unit("s") / 60,
        "",
        "n * t / 60",
        (speed_rpm, seconds),
        "turns = speed * time",
    )


def travel(drum: Drum, layer: Layer) -> Figure:
    """What one turn pays out in a layer."""
    return Figure(
        drum.of,
        f"travel of a turn in layer {layer.number}",
        layer.turn_m,
        "m",
        "pi * (D + d * (2 k - 1))",
        (drum.barrel_m, drum.line_m, Given("k", layer.number, "", "layer, from the barrel out")),
        LAYERS,
    )


def speed(drum: Drum, layer: Layer, speed_rpm: Input) -> Figure:
    """How fast the line runs in a layer."""
    turn = travel(drum, layer)
    return Figure(
        drum.of,
        f"speed of the line in layer {layer.number}",
        turn.value * speed_rpm.in_unit("rpm") / 60,
        "m/s",
        "v = travel of a turn * n / 60",
        (turn, speed_rpm),
        LAYERS,
    )


def pull(drum: Drum, layer: Layer, torque_nm: Input, gearbox: Input, efficiency: Input) -> Figure:
    """How hard it pulls in a layer."""
    at_drum_nm = torque_nm.in_unit("Nm") * gearbox.in_unit("") * efficiency.in_unit("%") / 100
    return Figure(
        drum.of,
        f"pull in layer {layer.number}",
        at_drum_nm / (layer.diameter_m / 2),
        "N",
        "F = torque * gearbox * efficiency / (diameter / 2)",
        (
            torque_nm,
            gearbox,
            efficiency,
            Given("diameter", layer.diameter_m, "m", f"of layer {layer.number}: {LAYERS}"),
        ),
        f"lever of half the diameter; efficiency of a gearbox of spur wheels: {PRACTICE}",
    )
