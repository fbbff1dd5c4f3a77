"""A radio from a seed."""

from __future__ import annotations

import random

from tests.radios.radio import Box, Drops, Lever, Loss, OwnChannel, Radio, Repeats, Thing

SLOTS_LEAST, SLOTS_MOST = 4, 24
FRAMES_MOST = 3
FRAME_US = (5_000, 25_000)
NOISE_MOST_US = 8.0
FAULTS_MOST = 0.10
GLITCHES_MOST = 0.001

ENDS_US = ((991, 2016), (1070, 1922), (998, 2002), (1044, 1877), (991, 2036), (995, 1995))
CENTRES_US = (1503, 1504, 1496, 1500, 1514, 1495)
"""Of real receivers."""


def draw_radio(seed: int, *, box: bool = True) -> Radio:
    """The radio of this seed; with a shared channel unless `box` is false."""
    dice = random.Random(seed)
    ends = dice.choice(ENDS_US)
    centre = dice.choice(CENTRES_US)
    noise_us = dice.choice((0.0, dice.uniform(0, 1.1), dice.uniform(0, NOISE_MOST_US)))
    marker_low = dice.random() < 0.5
    away_us = dice.uniform(60, 140) + 4 * noise_us
    marker_us = ends[0] - away_us if marker_low else ends[1] + away_us
    faults = dice.choice((0.0, dice.uniform(0, 0.02), dice.uniform(0, FAULTS_MOST)))
    repeated = dice.choice((0.0, 1.0, dice.random())) * faults
    frame_us = dice.uniform(*FRAME_US)
    own = tuple(
        OwnChannel(name, _lever(dice, name, dice.choice(list(Thing)), ends, centre))
        for name in ("wheel", "engine", "aft key")
    )
    own = (*own, OwnChannel("spare", None)) if dice.random() < 0.5 else own
    shared = None
    if box:
        levers = tuple(
            _lever(dice, f"slot {number}", _in_a_box(dice), ends, centre)
            for number in range(1, dice.randint(SLOTS_LEAST, SLOTS_MOST) + 1)
        )
        shared = Box("box", levers, dice.randint(1, FRAMES_MOST), marker_us, marker_low)
    return Radio(
        seed=seed,
        frame_us=frame_us,
        jitter_us=dice.choice((0.0, dice.uniform(0, 0.01))) * frame_us,
        noise_us=noise_us,
        own=own,
        box=shared,
        repeated=repeated,
        dropped=faults - repeated,
        repeats=dice.choice(list(Repeats)),
        drops=dice.choice(list(Drops)),
        glitches=dice.choice((0.0, dice.uniform(0, GLITCHES_MOST))),
        loss=dice.choice(list(Loss)),
        preset_us=ends[0] - dice.uniform(100, 150) - 8 * noise_us,
    )


def _in_a_box(dice: random.Random) -> Thing:
    return dice.choice((Thing.KEY, Thing.KEY, Thing.SWITCH_3, Thing.SWITCH_2, Thing.KNOB))


def _lever(
    dice: random.Random, name: str, thing: Thing, ends: tuple[float, float], centre: float
) -> Lever:
    """Each lever differs a little from its neighbours."""
    low, high = (end + dice.uniform(-6, 6) for end in ends)
    rest = {
        Thing.KEY: 0.0,
        Thing.STICK: 0.0,
        Thing.SWITCH_3: dice.choice((-1.0, 0.0, 1.0)),
        Thing.SWITCH_2: dice.choice((-1.0, 1.0)),
        Thing.KNOB: dice.uniform(-1, 1),
    }[thing]
    return Lever(name, thing, (low, high), centre + dice.uniform(-6, 6), rest)
