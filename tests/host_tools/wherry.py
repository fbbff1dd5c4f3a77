"""A small plan made by hand, so that what is tested here needs no ship file."""

from __future__ import annotations

from gen.behaviours import Follow, Loss, Momentary, Pulse, Toggle, Winch
from gen.behaviours.follow import Stick
from gen.plan import Ask, Channel, Control, Line, Pair, Plan, Position, Servo


def us(value: float) -> int:
    return round(value * 2)


def _channel(name: str, pin: str, lost_below_us: int = 0) -> Channel:
    return Channel(
        name, name.replace(" ", "_"), pin, (us(700), us(2300)), us(lost_below_us), 0xFFFF, 60
    )


def _control(name: str, channel: int, *, proportional: bool = False) -> Control:
    bands = [("down", 800, 1300), ("centre", 1400, 1600), ("up", 1700, 2200)]
    return Control(
        name=name,
        code=name.replace(" ", "_"),
        kind="stick" if proportional else "key",
        channel=channel,
        positions=tuple(Position(word, word, us(low), us(high)) for word, low, high in bands),
        rest=1,
        hysteresis_half_us=us(20),
        settle_pulses=2,
        proportional=proportional,
        dead_band_half_us=us(4) if proportional else 0,
        ends_half_us=(us(1000), us(2000)),
    )


def _line(name: str, pin: str) -> Line:
    return Line(name, name.replace(" ", "_"), pin, active_low=True)


CONTROLS = (
    _control("bow key", 0),
    _control("deck", 1),
    _control("deck key", 2),
    _control("wheel", 3, proportional=True),
)
DOWN, CENTRE, UP = range(3)
BOW_KEY, DECK, DECK_KEY, WHEEL = range(4)

SMALL = Plan(
    ship="Test Wherry",
    code="test_wherry",
    board="nano",
    channels=(
        _channel("bow keys", "D2", lost_below_us=930),
        _channel("deck one", "D3"),
        _channel("deck two", "D4"),
        _channel("steering", "D5"),
    ),
    controls=CONTROLS,
    lines=(
        _line("bell relay", "D6"),
        _line("heave relay", "D7"),
        _line("horn relay", "D8"),
        _line("lamp relay", "D10"),
        _line("pay out relay", "D11"),
    ),
    pairs=(Pair("capstan motor", "capstan_motor", 4, 1),),
    servos=(Servo("rudder servo", "rudder_servo", "D9", "OC1A", (us(1000), us(2000)), us(1500)),),
    functions=(
        Pulse(
            name="bell",
            code="bell",
            on_loss=Loss.OFF,
            ask=Ask(DECK, UP),
            drives=0,
            duration_ticks=80,
        ),
        Winch(
            name="capstan",
            code="capstan",
            on_loss=Loss.OFF,
            first=Ask(BOW_KEY, DOWN),
            second=Ask(BOW_KEY, UP),
            ways=("pay out", "heave"),
            first_limit_ticks=400,
            second_limit_ticks=600,
            pause_ticks=100,
            drives=0,
            pair_lines=(4, 1),
        ),
        Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=Ask(DECK_KEY, DOWN), drives=2),
        Toggle(name="lamp", code="lamp", on_loss=Loss.KEEP, ask=Ask(DECK_KEY, UP), drives=3),
        Follow(
            name="rudder",
            code="rudder",
            on_loss=Loss.OFF,
            stick=Stick(WHEEL, us(1500)),
            travel_half_us=(us(1000), us(1500), us(2000)),
            drives=0,
            reverse=False,
            step_per_256=5 * 512,
        ),
    ),
    source="wherry.yaml",
)
