"""A ship made for measuring: eight channels on two ports, and all the servos that a nano can have."""

from __future__ import annotations

from gen.behaviours import Follow, Function, Loss, Momentary
from gen.plan import Ask, Channel, Control, Line, Plan, Position, Servo

INPUTS = ("D2", "D3", "D4", "D5", "D6", "D7", "A0", "A1")
SERVOS = (
    ("D9", "OC1A"),
    ("D10", "OC1B"),
    *((pin, "software") for pin in ("D8", "D11", "D13", "A2", "A3", "A4", "A5")),
)
BANDS = (("down", 1600, 2600), ("centre", 2800, 3200), ("up", 3400, 4400))


def yardstick(*, software_servos: bool) -> Plan:
    """Channel 0 is a key that works a relay; channel 1 a knob that every servo follows."""
    servos = [pair for pair in SERVOS if software_servos or pair[1] != "software"]
    functions: list[Function] = [
        Momentary(name="light", code="light", on_loss=Loss.OFF, ask=Ask(0, 2), drives=0)
    ]
    functions += [
        Follow(
            name=f"turret {index}",
            code=f"turret_{index}",
            on_loss=Loss.OFF,
            control=1,
            drives=index,
            reverse=index % 2 == 1,
            step_per_256=2000 * 256,
        )
        for index in range(len(servos))
    ]
    return Plan(
        ship="Yardstick",
        code="yardstick",
        board="nano",
        channels=tuple(
            Channel(f"channel {i}", f"channel_{i}", pin, (1400, 4600), 0, 0xFFFF, 60)
            for i, pin in enumerate(INPUTS)
        ),
        controls=(_control("key", 0, proportional=False), _control("knob", 1, proportional=True)),
        lines=(Line("relay", "relay", "D12", active_low=False),),
        pairs=(),
        servos=tuple(
            Servo(f"servo {i}", f"servo_{i}", pin, unit, (2000, 4000), 3000)
            for i, (pin, unit) in enumerate(servos)
        ),
        functions=tuple(functions),
        source="yardstick.yaml",
    )


def _control(name: str, channel: int, *, proportional: bool) -> Control:
    return Control(
        name=name,
        code=name,
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
