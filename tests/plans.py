"""Plans for tests, made without a ship file: one of each kind of part, and drawn at random.

All ships here are invented.
"""

from __future__ import annotations

import itertools
import random

from gen.behaviours import Follow, Function, Loss, Momentary, Pulse, Toggle, Winch
from gen.plan import Ask, Channel, Control, Line, Pair, Plan, Position, Servo

HALF_US_MOST = 65535

MEGA_SERVO_PINS = (
    ("D46", "OC5A"),
    ("D45", "OC5B"),
    ("D44", "OC5C"),
    ("D6", "OC4A"),
    ("D7", "OC4B"),
    ("D8", "OC4C"),
    ("D5", "OC3A"),
    ("D2", "OC3B"),
)


def _bands(draw: random.Random, names: list[str]) -> tuple[Position, ...]:
    """Bands from 800 to 2200 us, some apart and some side by side."""
    edges = sorted(draw.sample(range(1600, 4400, 20), 2 * len(names)))
    bands: list[Position] = []
    for index, name in enumerate(names):
        low, high = edges[2 * index], edges[2 * index + 1]
        if draw.random() < 0.3 and index:
            low = bands[-1].high_half_us + 1
        bands.append(Position(name, name.replace(" ", "_"), low, max(low, high)))
    return tuple(bands)


def random_plan(seed: int, *, functions: int = 8) -> Plan:
    """A plan with every behaviour, all its numbers drawn from `seed`."""
    draw = random.Random(seed)
    channels = tuple(
        Channel(
            name=f"channel {index}",
            code=f"c{index}_channel",
            pin=f"A{index + 8}",
            valid_half_us=(1400, 4600),
            lost_below_half_us=draw.choice([0, 1500]),
            lost_above_half_us=draw.choice([HALF_US_MOST, 4500]),
            lost_after_ticks=draw.randint(3, 80),
        )
        for index in range(draw.randint(1, 6))
    )
    controls = []
    for index in range(max(2, functions)):
        kind = draw.choice(["key", "switch", "stick", "knob"])
        names = {"switch": ["off", "on"], "knob": ["anywhere"]}.get(kind, ["down", "centre", "up"])
        proportional = kind in ("stick", "knob") or index == 0
        bands = _bands(draw, names)
        gaps = [b.low_half_us - a.high_half_us for a, b in itertools.pairwise(bands)]
        controls.append(
            Control(
                name=f"control {index}",
                code=f"control_{index}",
                kind=kind,
                channel=draw.randrange(len(channels)),
                positions=bands,
                rest=len(names) // 2 if len(names) != 2 else 0,
                hysteresis_half_us=draw.choice([0, 4, 20]) if min(gaps, default=99) > 1 else 2,
                settle_pulses=draw.randint(1, 4),
                proportional=proportional,
                dead_band_half_us=draw.choice([0, 2, 8]),
                ends_half_us=(2000, 4000),
            )
        )
    lines: list[Line] = []
    pairs: list[Pair] = []
    servos: list[Servo] = []
    made: list[Function] = []

    def line(code: str) -> int:
        lines.append(Line(code, code, f"D{len(lines) + 22}", active_low=draw.random() < 0.5))
        return len(lines) - 1

    def ask() -> Ask:
        index = draw.randrange(len(controls))
        control = controls[index]
        wanted = [p for p in range(len(control.positions)) if p != control.rest]
        return Ask(index, draw.choice(wanted)) if wanted else ask()

    if all(len(control.positions) == 1 for control in controls):
        return random_plan(seed + 1_000_003, functions=functions)
    moving = [index for index, control in enumerate(controls) if control.proportional]
    for index in range(functions):
        name = f"function_{index}"
        loss = draw.choice(list(Loss))
        behaviour = draw.choice(["toggle", "momentary", "pulse", "winch", "winch", "follow"])
        if behaviour == "toggle":
            made.append(
                Toggle(name=name, code=name, on_loss=loss, ask=ask(), drives=line(f"line_{index}"))
            )
        elif behaviour == "momentary":
            made.append(
                Momentary(
                    name=name, code=name, on_loss=loss, ask=ask(), drives=line(f"line_{index}")
                )
            )
        elif behaviour == "pulse":
            made.append(
                Pulse(
                    name=name,
                    code=name,
                    on_loss=loss,
                    ask=ask(),
                    drives=line(f"line_{index}"),
                    duration_ticks=draw.choice([1, 2, 40, 70_000]),
                )
            )
        elif behaviour == "winch":
            pair_lines = (line(f"pair_{index}_first"), line(f"pair_{index}_second"))
            pairs.append(Pair(f"pair_{index}", f"pair_{index}", *pair_lines))
            made.append(
                Winch(
                    name=name,
                    code=name,
                    on_loss=Loss.OFF,
                    first=ask(),
                    second=ask(),
                    ways=("lower", "raise"),
                    first_limit_ticks=draw.choice([1, 7, 200, 65535]),
                    second_limit_ticks=draw.choice([1, 5, 230, 65535]),
                    pause_ticks=draw.choice([0, 1, 20, 100]),
                    drives=len(pairs) - 1,
                    pair_lines=pair_lines,
                )
            )
        else:
            low, high = sorted(draw.sample(range(1000, 5000), 2))
            servos.append(
                Servo(
                    f"servo {len(servos)}",
                    f"servo_{len(servos)}",
                    *MEGA_SERVO_PINS[len(servos)],
                    (low, high),
                    draw.randint(low, high),
                )
            )
            made.append(
                Follow(
                    name=name,
                    code=name,
                    on_loss=Loss.OFF if loss is Loss.ON else loss,
                    control=draw.choice(moving),
                    drives=len(servos) - 1,
                    reverse=draw.random() < 0.5,
                    step_per_256=draw.choice([1, 300, 5000, (high - low) * 256]),
                )
            )
    return Plan(
        ship="Test Hulk",
        code="test_hulk",
        board="mega",
        channels=channels,
        controls=tuple(controls),
        lines=tuple(lines),
        pairs=tuple(pairs),
        servos=tuple(servos),
        functions=tuple(made),
        source="test_hulk.yaml",
    )
