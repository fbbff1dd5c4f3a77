"""Plans for tests, made without a ship file: one of each kind of part, and drawn at random.

All ships here are invented.
"""

from __future__ import annotations

import dataclasses
import itertools
import random
from typing import Any

from gen.behaviours import (
    Auto,
    Follow,
    Function,
    Loss,
    Momentary,
    Pulse,
    Toggle,
    Winch,
)
from gen.behaviours.follow import Mixed, Stick, Tied
from gen.behaviours.winch import Duty
from gen.plan import (
    NOTHING_THERE,
    AnalogueSensor,
    Ask,
    Bar,
    Bench,
    Channel,
    Control,
    DigitalSensor,
    Felt,
    First,
    Gate,
    Line,
    Pair,
    Plan,
    Position,
    Sensor,
    Servo,
    Sharing,
    Stage,
    StateOf,
    SumSignal,
)
from tests.drawn_lights import DRAWS, Parts, with_conditions

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


BEHAVIOURS = [
    *("toggle", "momentary", "pulse", "winch", "winch", "follow", "auto"),
    *("step", "rhythm", "rhythm", "sequence", "dimmer", "dimmer"),
]


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


def _sensors(draw: random.Random) -> tuple[Sensor, ...]:
    """A few of each kind."""
    analogue = [
        AnalogueSensor(
            f"sensor {i}", f"sensor_{i}", f"A{i}", draw.choice([0, 33, 3196, 41427]), 10**7
        )
        for i in range(draw.randint(1, 3))
    ]
    digital = [
        DigitalSensor(
            f"switch {i}",
            f"switch_{i}",
            f"A{i + 4}",
            draw.random() < 0.5,
            draw.choice([1, 2, 4, 200]),
        )
        for i in range(draw.randint(1, 3))
    ]
    return (*analogue, *digital)


def _felt(draw: random.Random, sensors: tuple[Sensor, ...]) -> Felt:
    """Something that a sensor can say."""
    sensor = draw.randrange(len(sensors))
    low = draw.randint(1, 1022)
    if isinstance(sensors[sensor], DigitalSensor):
        return Felt(sensor, *draw.choice([(0, 0), (1, 1)]))
    return Felt(sensor, *draw.choice([(low, 1023), (0, low), (low, low)]))


def _auto(
    draw: random.Random,
    index: int,
    others: int,
    sensors: tuple[Sensor, ...],
    **parts: Any,
) -> Auto:
    """An auto that looks at a sensor, or at another function."""
    felt = _felt(draw, sensors)
    other = draw.choice([one for one in range(others) if one != index])
    return Auto(
        name=f"function_{index}",
        code=f"function_{index}",
        on_loss=draw.choice([Loss.OFF, Loss.KEEP]),
        when=felt if draw.random() < 0.75 else StateOf(other, draw.choice([(0,), (1,)])),
        wait_ticks=draw.choice([0, 1, 20, 300, 70_000]),
        run_on_ticks=draw.choice([0, 1, 30, 1_000, 70_000]),
        longest_ticks=draw.choice([0, 1, 50, 2_000, 70_000]),
        **parts,
    )


def _stages(draw: random.Random) -> tuple[Stage, ...]:
    """None, or some of the first sensor."""
    high = draw.randint(500, 1000)
    return tuple(
        Stage(
            Felt(0, 0, high - draw.randint(1, 400)),
            draw.choice([0, 1, 60, 1_000]),
            Felt(0, high, 1023),
            draw.choice([0, 1, 90, 1_000]),
        )
        for _ in range(draw.choice([0, 1, 2]))
    )


def _gates(draw: random.Random, functions: list[Function], stages: int) -> tuple[Function, ...]:
    """The functions, about half of them with conditions, which here may look at any other one."""

    def state_of(mine: int) -> StateOf:
        other = draw.choice([index for index in range(len(functions)) if index != mine])
        most = len(functions[other].states) - 1
        return StateOf(other, draw.choice([(most,), (0,), tuple(range(1, most + 1))]))

    stops = set(draw.sample(range(len(functions)), draw.choice([0, 0, 2, 3])))
    gated = []
    for index, function in enumerate(functions):
        gate = Gate(
            only_while=tuple(state_of(index) for _ in range(draw.choice([0, 0, 0, 1]))),
            bars=tuple(
                Bar(draw.choice([(1,), tuple(range(1, len(function.states)))]), state_of(index))
                for _ in range(draw.choice([0, 0, 1, 2]))
            ),
            first=tuple(
                First(state_of(index), draw.choice([0, 1, 90]))
                for _ in range(draw.choice([0, 0, 0, 1, 2]))
            ),
            both_is_stop=tuple(sorted(stops - {index})) if index in stops else (),
            stage=draw.choice([None, draw.randrange(stages)]) if stages else None,
        )
        gated.append(dataclasses.replace(function, gate=gate))
    return tuple(gated)


def _received(draw: random.Random, plan: Plan) -> Plan:
    """The same ship with another receiver: some channels shared, some in a sum signal."""
    channels = list(plan.channels)
    controls = list(plan.controls)
    for index, channel in enumerate(channels):
        if draw.random() < 0.4:
            low = max(channel.valid_half_us[0], channel.lost_below_half_us)
            high = min(channel.valid_half_us[1], channel.lost_above_half_us)
            marker = draw.choice([(low, 1690), (4300, high)])
            sharing = Sharing(draw.randint(2, 5), marker, draw.choice([1, 1, 2, 3]))
            channels[index] = dataclasses.replace(channel, sharing=sharing)
    for index, control in enumerate(controls):
        sharing_of_it = channels[control.channel].sharing
        if sharing_of_it is not None:
            slot = draw.randint(1, sharing_of_it.slots)
            controls[index] = dataclasses.replace(control, slot=slot)
    in_sum = draw.sample(range(len(channels)), draw.choice([0, draw.randint(1, len(channels))]))
    sum_signal = None
    if in_sum:
        for index in in_sum:
            channels[index] = dataclasses.replace(channels[index], pin="A15")
        places = [*in_sum, *[NOTHING_THERE] * draw.randint(1, 3)]
        draw.shuffle(places)
        sum_signal = SumSignal(
            code="sum_signal_channel",
            pin="A15",
            channels=tuple(places),
            gap_half_us=draw.choice([4800, 5400, 8000]),
            valid_half_us=(1400, 4600),
            falling=draw.random() < 0.5,
        )
    return dataclasses.replace(
        plan, channels=tuple(channels), controls=tuple(controls), sum_signal=sum_signal
    )


def random_plan(
    seed: int, *, functions: int = 8, favour: str = "", in_turn: bool | None = None
) -> Plan:
    """A plan with every behaviour, all its numbers drawn from `seed`; about half of its functions
    have the behaviour `favour`, if one is named. `in_turn`: whether channels may be shared or in a
    sum signal; two thirds of the seeds say yes."""
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
    sensors = _sensors(draw)
    stages = _stages(draw)

    def line(code: str) -> int:
        lines.append(Line(code, code, f"D{len(lines) + 22}", active_low=draw.random() < 0.5))
        return len(lines) - 1

    def ask() -> Ask:
        index = draw.randrange(len(controls))
        control = controls[index]
        wanted = [p for p in range(len(control.positions)) if p != control.rest]
        return Ask(index, draw.choice(wanted)) if wanted else ask()

    def stick() -> Stick:
        return Stick(draw.choice(moving), draw.choice([3000, 2900, 3024, 2400]))

    if all(len(control.positions) == 1 for control in controls):
        return random_plan(seed + 1_000_003, functions=functions, favour=favour)
    moving = [index for index, control in enumerate(controls) if control.proportional]
    parts = Parts(draw, ask, line, moving)
    for index in range(functions):
        name = f"function_{index}"
        loss = draw.choice(list(Loss))
        behaviour = draw.choice([*BEHAVIOURS, *[favour] * len(BEHAVIOURS) * bool(favour)])
        if behaviour == "toggle":
            made.append(
                Toggle(
                    name=name,
                    code=name,
                    on_loss=loss,
                    ask=ask(),
                    drives=line(f"line_{index}"),
                    remember=draw.random() < 0.5,
                )
            )
        elif behaviour == "momentary":
            made.append(
                Momentary(
                    name=name, code=name, on_loss=loss, ask=ask(), drives=line(f"line_{index}")
                )
            )
        elif behaviour == "auto":
            made.append(
                _auto(
                    draw,
                    index,
                    functions,
                    sensors,
                    by_hand=draw.choice([None, ask(), ask()]),
                    stop=draw.choice([None, ask(), ask()]),
                    drives=line(f"line_{index}"),
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
                    unknown=draw.choice([None, None, (True, True), (True, False), (False, True)]),
                    duty=draw.choice(
                        [None, None, Duty.of(25, 400), Duty.of(60, 20), Duty.of(1, 9000)]
                    ),
                    ends=(
                        draw.choice([None, None, _felt(draw, sensors)]),
                        draw.choice([None, None, _felt(draw, sensors)]),
                    ),
                    stall=draw.choice([None, None, _felt(draw, sensors)]),
                    stall_ticks=draw.choice([0, 1, 40]),
                )
            )
        elif behaviour in DRAWS:
            made.append(DRAWS[behaviour](parts, name, loss))
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
                    stick=stick(),
                    dead_half_us=draw.choice([0, 0, 1, 60]),
                    curve_per_256=draw.choice([0, 0, 102, 256]),
                    travel_half_us=(low, draw.choice([(low + high) // 2, low, high]), high),
                    drives=len(servos) - 1,
                    reverse=draw.random() < 0.5,
                    step_per_256=draw.choice([1, 300, 5000, (high - low) * 256]),
                    tied=Tied(stick(), ask()) if draw.random() < 0.4 else None,
                    mixed=(
                        Mixed(stick(), draw.choice([-256, -77, 100, 256]))
                        if draw.random() < 0.4
                        else None
                    ),
                    neutral_ticks=draw.choice([0, 0, 1, 40]),
                )
            )
    plan = Plan(
        ship="Test Hulk",
        code="test_hulk",
        board="mega",
        channels=channels,
        controls=tuple(controls),
        lines=tuple(lines),
        pairs=tuple(pairs),
        servos=tuple(servos),
        lights=tuple(parts.lights),
        functions=_gates(draw, with_conditions(draw, made), len(stages)),
        sensors=sensors,
        stages=stages,
        source="test_hulk.yaml",
    )
    received_in_turn = seed % 3 > 0 if in_turn is None else in_turn
    plan = _received(random.Random(seed), plan) if received_in_turn else plan
    return dataclasses.replace(plan, bench=_bench(seed))


def _bench(seed: int) -> Bench | None:
    """Drawn apart, so that the same seed still means the same ship otherwise."""
    return random.Random(f"bench {seed}").choice([None, Bench(""), Bench("D14")])
