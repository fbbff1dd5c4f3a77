from __future__ import annotations

import pytest

from gen.read.steps import (
    AllIdle,
    AtWidth,
    Expect,
    Hold,
    InState,
    LoseSignal,
    Move,
    PowerUp,
    Press,
    Send,
    SignalReturns,
    Step,
    Wait,
)
from gen.read.trial_steps import StepError, out_of_place, parse_step
from tests.host_tools.wherry import BOW_KEY, CENTRE, DECK, DECK_KEY, DOWN, SMALL, UP, WHEEL, us

BELL, CAPSTAN, HORN, LAMP, RUDDER = range(5)


def step(text: str) -> Step:
    return parse_step(text, 7, SMALL)


@pytest.mark.parametrize(
    ("text", "kind", "parts"),
    [
        ("press deck key up", Press, {"control": DECK_KEY, "position": UP, "ticks": 60}),
        ("press deck up for 1.5 s", Press, {"control": DECK, "position": UP, "ticks": 300}),
        ("hold bow key down", Hold, {"control": BOW_KEY, "position": DOWN}),
        ("release bow key", Hold, {"control": BOW_KEY, "position": CENTRE}),
        ("move wheel to 1600.5 us", Move, {"control": WHEEL, "half_us": 3201}),
        ("move wheel to 75 %", Move, {"control": WHEEL, "half_us": us(1750)}),
        ("move wheel to 0%", Move, {"control": WHEEL, "half_us": us(1000)}),
        ("move deck to 1650 us", Move, {"control": DECK, "half_us": us(1650)}),
        ("wait 20 ms", Wait, {"ticks": 4}),
        ("lose signal", LoseSignal, {"channels": (0, 1, 2, 3)}),
        ("lose signal on deck two", LoseSignal, {"channels": (2,)}),
        ("signal returns", SignalReturns, {"channels": (0, 1, 2, 3)}),
        ("signal returns on steering", SignalReturns, {"channels": (3,)}),
        ("send deck one 2100 us", Send, {"channel": 1, "half_us": us(2100)}),
        ("power  up", PowerUp, {}),
    ],
)
def test_a_step_is_read(text: str, kind: type[Step], parts: dict[str, object]) -> None:
    assert step(text) == kind(text=text, source_line=7, **parts)


@pytest.mark.parametrize(
    ("text", "claim", "ticks", "throughout"),
    [
        ("expect lamp on", InState(LAMP, 1), 0, False),
        ("expect capstan paying out within 2 s", InState(CAPSTAN, 1), 400, False),
        ("expect capstan stopped for 0.1 s", InState(CAPSTAN, 0), 20, True),
        ("expect rudder at rest", InState(RUDDER, 0), 0, False),
        ("expect rudder away", InState(RUDDER, 1), 0, False),
        ("expect rudder at 1500 us", AtWidth(RUDDER, 3000, 3000), 0, False),
        ("expect rudder at 1500..1600 us within 1 s", AtWidth(RUDDER, 3000, 3200), 200, False),
        ("expect everything off", AllIdle(servos_too=False), 0, False),
        ("expect everything at rest for 1 s", AllIdle(servos_too=True), 200, True),
    ],
)
def test_an_expectation_is_read(text: str, claim: object, ticks: int, throughout: bool) -> None:
    read = step(text)
    assert isinstance(read, Expect)
    assert (read.claim, read.ticks, read.throughout) == (claim, ticks, throughout)


@pytest.mark.parametrize(
    ("text", "code", "offset", "said"),
    [
        ("pres deck up", "unknown-step", 0, "did you mean 'press'?"),
        ("", "unknown-step", 0, ""),
        ("press dek key up", "unknown-name", 6, "did you mean 'deck key'?"),
        ("press deck key upp", "unknown-name", 15, "did you mean 'up'?"),
        ("press", "unknown-name", 5, ""),
        ("press deck key", "unknown-name", 14, ""),
        ("press deck key up for", "wrong-number", 21, ""),
        ("press deck key up for 3", "wrong-unit", 22, ""),
        ("press deck key up for 3 kg", "wrong-unit", 22, ""),
        ("press deck key up for 1 ms", "out-of-range", 22, ""),
        ("press deck key up twice", "step-shape", 18, ""),
        ("wait 2 h", "wrong-unit", 5, ""),
        ("wait 61 min", "out-of-range", 5, ""),
        ("move wheel 75 %", "step-shape", 11, ""),
        ("move wheel to 101 %", "out-of-range", 14, ""),
        ("move deck key to 50 %", "step-shape", 17, ""),
        ("lose deck", "step-shape", 5, ""),
        ("lose signal on deck", "unknown-name", 15, "did you mean 'deck two'?"),
        ("send steerin 1500 us", "unknown-name", 5, "did you mean 'steering'?"),
        ("power down", "step-shape", 6, ""),
        ("expect lamps on", "unknown-name", 7, "did you mean 'lamp'?"),
        ("expect lamp onn", "unknown-name", 12, "did you mean 'on'?"),
        ("expect lamp at 1500 us", "unknown-name", 12, ""),
        ("expect capstan paying", "unknown-name", 15, ""),
        ("expect rudder at 1600..1500 us", "upside-down", 17, ""),
        ("expect everything on", "unknown-name", 18, ""),
        ("expect lamp on after 2 s", "step-shape", 15, ""),
    ],
)
def test_a_mistake_is_told_with_its_place(text: str, code: str, offset: int, said: str) -> None:
    with pytest.raises(StepError) as refused:
        step(text)
    assert (refused.value.code, refused.value.offset) == (code, offset)
    assert said in refused.value.hint


def test_power_up_comes_once_and_early() -> None:
    held, powered, waits = step("hold deck up"), step("power up"), step("wait 1 s")
    assert out_of_place([held, powered, waits]) is None
    assert out_of_place([waits, held]) is None
    assert out_of_place([held, waits, powered]) == (
        1,
        "before 'power up' a trial can only move controls, set sensors and lose signal",
    )
    hour = step("wait 60 min")
    assert out_of_place([hour] * 24) is None
    assert out_of_place([hour] * 24 + [waits]) == (
        24,
        "up to here the trial lasts longer than a day",
    )
    assert out_of_place([powered, waits, powered]) == (2, "a trial powers up only once")
