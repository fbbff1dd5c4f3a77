"""The smallest ships that show one behaviour at a time, and a hand to work them.

All invented. One channel a control, pulses every fourth tick, in the middle of a band.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import (
    AnalogueSensor,
    Ask,
    Channel,
    Control,
    DigitalSensor,
    Light,
    Line,
    Pair,
    Plan,
    Position,
    Servo,
)
from host_tools.model import Model
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.behaviours import Function
    from host_tools.record import Record

LOST_AFTER_TICKS = 60
FRAME_TICKS = 4
SETTLE_PULSES = 2
DEBOUNCE_TICKS = 4
LEVEL, FLOAT = range(2)

DOWN, CENTRE, UP = 2000, 3000, 4000
SILENCE = 0

KEY_DOWN, KEY_UP = Ask(0, 0), Ask(0, 2)
OTHER_DOWN, OTHER_UP = Ask(1, 0), Ask(1, 2)


def plan_with(*functions: Function) -> Plan:
    """A plan with two sprung keys, a stick (control 2), a pair on lines 0 and 1, two lines more
    one servo, one light, a voltage that is not smoothed and a contact, and these functions."""
    bands = (
        Position("down", "down", 1600, 2600),
        Position("centre", "centre", 2800, 3200),
        Position("up", "up", 3400, 4400),
    )
    names = ("key", "other key", "stick")
    return Plan(
        ship="Bench Ship",
        code="bench_ship",
        board="nano",
        channels=tuple(
            Channel(
                name,
                f"{name.replace(' ', '_')}_channel",
                f"D{index + 2}",
                (1400, 4600),
                0,
                65535,
                LOST_AFTER_TICKS,
            )
            for index, name in enumerate(names)
        ),
        controls=tuple(
            Control(
                name,
                name.replace(" ", "_"),
                "stick" if name == "stick" else "key",
                index,
                bands,
                1,
                40,
                SETTLE_PULSES,
                name == "stick",
                8,
                (2000, 4000),
            )
            for index, name in enumerate(names)
        ),
        lines=tuple(
            Line(f"line {index}", f"line_{index}", f"D{index + 5}", False) for index in range(4)
        ),
        pairs=(Pair("pair", "pair", 0, 1),),
        servos=(Servo("servo", "servo", "D9", "OC1A", (2000, 4000), 3000),),
        lights=(Light("light", "light", "D3", "OC2B"),),
        functions=tuple(functions),
        sensors=(
            AnalogueSensor("level", "level", "A0", 0, 5_000_000),
            DigitalSensor("float", "float_switch", "A4", True, DEBOUNCE_TICKS),
        ),
        source="bench_ship.yaml",
    )


def worked(
    plan: Plan,
    *moves: tuple[int, Sequence[int]],
    felt: Sequence[tuple[int, int, int]] = (),
) -> Record:
    """What the model does when each move (ticks, the width on each channel) follows the last and
    sensors read what is `felt` (tick, sensor, reading); behind them is what a bench forces."""
    at: list[int] = []
    rows: list[list[int]] = []
    now = 0
    for ticks, widths in moves:
        padded = [*widths, *[CENTRE] * (len(plan.channels) - len(widths))]
        for tick in range(now, now + ticks):
            if tick % FRAME_TICKS == 0:
                at.append(tick)
                rows.append(padded)
        now += ticks
    trace = Trace(
        now,
        tuple(channel.name for channel in plan.channels),
        np.array(at, dtype=np.int64),
        np.array(rows, dtype=np.uint16).reshape(len(rows), len(plan.channels)),
    )
    return Model(plan).run(trace.with_readings(plan.readings, felt))


def spans(record: Record, line: int) -> list[tuple[int, int]]:
    """The (first tick, length) of each time that a line was on."""
    on = (record.lines >> np.uint64(line)) & np.uint64(1)
    edges = np.flatnonzero(np.diff(np.concatenate(([0], on.astype(np.int64), [0]))))
    return [
        (int(begin), int(end - begin)) for begin, end in zip(edges[::2], edges[1::2], strict=True)
    ]
