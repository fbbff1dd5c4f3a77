"""A ship made for measuring and testing the firmware: channels on all the ports that can take them,
lines of both polarities, and servos of every kind that the board has."""

from __future__ import annotations

from dataclasses import dataclass

from gen.behaviours import Follow, Function, Loss, Momentary, Toggle, Winch
from gen.behaviours.follow import Stick
from gen.plan import Ask, Channel, Control, Line, Pair, Plan, Position, Servo

BANDS = (("down", 1600, 2600), ("centre", 2800, 3200), ("up", 3400, 4400))
KEY, WINCH_KEY, KNOB = range(3)


@dataclass(frozen=True)
class Pins:
    """What is used of a board; `hardware` servos have a timer output, `software` ones have none."""

    channels: tuple[str, ...]
    lines: tuple[str, str, str, str]
    hardware: tuple[tuple[str, str], ...]
    software: tuple[str, ...]


PINS = {
    "nano": Pins(
        channels=("D2", "D3", "D4", "D5", "D6", "D7", "A0", "A1"),
        lines=("A2", "A3", "A4", "D12"),
        hardware=(("D9", "OC1A"), ("D10", "OC1B")),
        software=("D8", "D11", "D13", "A5"),
    ),
    "mega": Pins(
        channels=("D50", "D51", "D14", "D15", "A8", "A9", "A10", "A11"),
        lines=("D22", "D41", "A0", "D4"),
        hardware=(("D11", "OC1A"), ("D13", "OC1C"), ("D5", "OC3A"), ("D44", "OC5C")),
        software=("D30", "A1", "D9", "D18", "D19", "D38"),
    ),
    "micro": Pins(
        channels=("D8", "D14", "D15", "D16"),
        lines=("D0", "D13", "A0", "D7"),
        hardware=(("D9", "OC1A"), ("D10", "OC1B"), ("D11", "OC1C"), ("D5", "OC3A")),
        software=("A1",),
    ),
}


def yardstick(board: str, *, software_servos: bool = True, winch: bool = True) -> Plan:
    """Channel 0 is a key that works a relay (up) and a lamp (down), channel 1 a key for a winch,
    channel 2 a knob that every servo follows."""
    pins = PINS[board]
    units = [*pins.hardware]
    if software_servos:
        units += [(pin, "software") for pin in pins.software]
    lines = tuple(
        Line(name, name, pin, active_low=low)
        for name, pin, low in zip(
            ("horn", "lamp", "lower", "raise_"), pins.lines, (False, True, True, False),
            strict=True,
        )
    )  # fmt: skip
    functions: list[Function] = [
        Momentary(name="horn", code="sound", on_loss=Loss.OFF, ask=Ask(KEY, 2), drives=0),
        Toggle(name="lamp", code="shine", on_loss=Loss.KEEP, ask=Ask(KEY, 0), drives=1),
    ]
    if winch:
        functions.append(
            Winch(
                name="winch",
                code="winch",
                on_loss=Loss.OFF,
                first=Ask(WINCH_KEY, 0),
                second=Ask(WINCH_KEY, 2),
                ways=("lower", "raise"),
                first_limit_ticks=400,
                second_limit_ticks=500,
                pause_ticks=20,
                drives=0,
                pair_lines=(2, 3),
            )
        )
    functions += [
        Follow(
            name=f"turret {index}",
            code=f"turret_{index}",
            on_loss=Loss.OFF,
            stick=Stick(KNOB, 3000),
            travel_half_us=(2000, 3000, 4000),
            drives=index,
            reverse=index % 2 == 1,
            step_per_256=2000 * 256 if index % 3 else 5000,
        )
        for index in range(len(units))
    ]
    return Plan(
        ship="Yardstick",
        code="yardstick",
        board=board,
        channels=tuple(
            Channel(f"channel {i}", f"channel_{i}", pin, (1400, 4600), 0, 0xFFFF, 60)
            for i, pin in enumerate(pins.channels)
        ),
        controls=(
            _control("key", KEY, proportional=False),
            _control("winch key", WINCH_KEY, proportional=False),
            _control("knob", KNOB, proportional=True),
        ),
        lines=lines if winch else lines[:2],
        pairs=(Pair("winch pair", "winch_pair", 2, 3),) if winch else (),
        servos=tuple(
            Servo(f"servo {i}", f"servo_{i}", pin, unit, (2000, 4000), 3000)
            for i, (pin, unit) in enumerate(units)
        ),
        functions=tuple(functions),
        source="yardstick.yaml",
    )


def _control(name: str, channel: int, *, proportional: bool) -> Control:
    return Control(
        name=name,
        code=name.replace(" ", "_"),
        kind="stick" if proportional else "key",
        channel=channel,
        positions=tuple(Position(word, word, low, high) for word, low, high in BANDS),
        rest=1,
        hysteresis_half_us=40,
        settle_pulses=2,
        proportional=proportional,
        dead_band_half_us=8,
        ends_half_us=(2000, 4000),
    )
