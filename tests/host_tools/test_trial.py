from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.read.steps import Trial
from gen.read.trial_steps import parse_step
from host_tools.model import Model
from host_tools.record import Record
from host_tools.transmitter import Transmitter, preset_half_us
from host_tools.trial import Failure, judge, run, script
from tests.host_tools.wherry import BOW_KEY, SMALL, WHEEL, us

if TYPE_CHECKING:
    from numpy.typing import NDArray

MODEL = Model(SMALL)


def trial(*steps: str) -> Trial:
    read = tuple(parse_step(text, line, SMALL) for line, text in enumerate(steps, 10))
    return Trial("a trial", read, 9)


def failures(*steps: str) -> list[Failure]:
    return run(SMALL, trial(*steps), MODEL)


PASSING = [
    ["press deck key up", "expect lamp on", "press deck key up", "expect lamp off"],
    ["hold deck key down", "expect horn on for 1 s", "release deck key", "expect horn off"],
    ["hold deck up", "expect bell on for 0.3 s", "expect bell off within 0.1 s"],
    [
        "hold bow key down",
        "expect capstan paying out for 1.9 s",
        "expect capstan stopped within 1 s",
    ],
    ["hold bow key down", "wait 1 s", "lose signal", "expect everything off within 0.31 s"],
    ["move wheel to 100 %", "expect rudder at 2000 us within 1 s", "expect everything off"],
    ["move wheel to 2000 us", "wait 1 s", "lose signal", "expect everything at rest within 1.5 s"],
    ["hold deck key down", "power up", "expect everything off for 1 s"],
    ["hold deck key down", "power up", "release deck key", "hold deck key down", "expect horn on"],
    ["send deck two 1950 us", "expect lamp off", "wait 0.1 s", "expect lamp off"],
    [
        "send deck two 1950 us",
        "send deck two 1950 us",
        "wait 0.1 s",
        "expect lamp on",
    ],
    [
        "hold deck key down",
        "lose signal on deck two",
        "expect horn off within 0.4 s",
        "signal returns on deck two",
        "expect horn off for 0.5 s",
        "release deck key",
        "hold deck key down",
        "expect horn on",
    ],
]


@pytest.mark.parametrize("steps", PASSING, ids=lambda steps: steps[0])
def test_what_should_pass_passes(steps: list[str]) -> None:
    assert failures(*steps) == []


def test_a_failure_tells_everything() -> None:
    (failure,) = failures("hold bow key down", "press deck key up", "expect horn on")
    assert failure.told("wherry.yaml") == (
        "wherry.yaml:12: trial 'a trial' fell short at 0.955 s, step 'expect horn on'\n"
        "  expected: horn on at 0.955 s\n"
        "  seen:     horn off\n"
        "  the ship: capstan paying out, lamp on"
    )


def test_within_is_judged_at_its_end() -> None:
    (failure,) = failures("hold deck up", "expect bell on within 1 s")
    assert failure.tick == 100 + 16 + 200 - 1
    assert failure.seen.startswith("bell off; it was so from 0.580 s to 0.")


def test_for_is_judged_at_every_tick() -> None:
    (failure,) = failures("hold deck up", "expect bell on for 1 s")
    assert failure.tick < 100 + 16 + 200 - 1
    assert failure.seen == "bell off"
    assert failure.expected == "bell on in every tick from 0.580 s to 1.575 s"


def test_everything_names_what_is_not_at_rest() -> None:
    (failure,) = failures("move wheel to 2000 us", "wait 1 s", "expect everything at rest")
    assert failure.seen == "rudder at 2000 us"


def dark(ticks: int) -> NDArray[np.uint8]:
    return np.zeros((ticks, 0), np.uint8)


@pytest.mark.parametrize(
    ("told_us", "met"), [(1490, False), (1495, True), (1505, True), (1505.5, False)]
)
def test_a_servo_near_its_place_is_there(told_us: float, met: bool) -> None:
    near = script(SMALL, trial("expect rudder at 1500 us", "expect rudder at rest"))
    band = script(SMALL, trial("expect rudder at 1500..1505.5 us"))
    for scripted, wanted in ((near, met), (band, told_us >= 1500)):
        ticks = scripted.trace.ticks
        servos = np.full((ticks, 1), us(told_us), np.uint16)
        record = Record(scripted.trace, np.zeros(ticks, np.uint64), servos, dark(ticks), None)
        assert (judge(SMALL, scripted, record) == []) == wanted


def test_both_ways_at_once_is_no_state_of_a_winch() -> None:
    scripted = script(SMALL, trial("expect capstan paying out", "expect capstan heaving"))
    both = np.full(scripted.trace.ticks, 1 << 4 | 1 << 1, np.uint64)
    servos = np.full((len(both), 1), us(1500), np.uint16)
    record = Record(scripted.trace, both, servos, dark(len(both)), None)
    assert [failure.seen for failure in judge(SMALL, scripted, record)] == [
        "capstan paying out and heaving"
    ] * 2


def test_a_record_of_another_length_is_no_answer() -> None:
    scripted = script(SMALL, trial("expect lamp off"))
    record = MODEL.run(scripted.trace)
    short = replace(record, lines=record.lines[:-1])
    with pytest.raises(ValueError, match="99 ticks"):
        judge(SMALL, scripted, short)


def test_every_channel_speaks_once_a_frame() -> None:
    sender = Transmitter(SMALL)
    sender.run(12)
    trace = sender.trace("test")
    assert trace.at.tolist() == list(range(12))
    assert (trace.widths_half_us > 0).sum(axis=0).tolist() == [3, 3, 3, 3]
    assert set(trace.widths_half_us[trace.widths_half_us > 0].tolist()) == {us(1500)}


def test_a_lost_channel_falls_silent_or_to_its_preset() -> None:
    sender = Transmitter(SMALL)
    sender.lose([0, 1])
    sender.run(4)
    assert sender.trace("test").widths_half_us.max(axis=0).tolist() == [
        preset_half_us(SMALL.channels[0]),
        0,
        us(1500),
        us(1500),
    ]
    assert us(700) <= preset_half_us(SMALL.channels[0]) < us(930)
    high = replace(SMALL.channels[1], lost_above_half_us=us(2100))
    assert us(2100) < preset_half_us(high) <= us(2300)


def test_a_raw_pulse_stands_in_for_one() -> None:
    sender = Transmitter(SMALL)
    sender.run(5)
    sender.send(2, us(900))
    sender.run(3)
    widths = sender.trace("test").widths_half_us[:, 2]
    assert widths[widths > 0].tolist() == [us(1500), us(900), us(1500)]


def test_two_controls_on_one_stick_rest_where_both_do() -> None:
    bow = SMALL.controls[BOW_KEY]
    wide = replace(bow.positions[1], low_half_us=us(1550), high_half_us=us(1700))
    other = replace(bow, name="other", code="other", positions=(bow.positions[0], wide))
    plan = replace(SMALL, controls=(*SMALL.controls, other))
    sender = Transmitter(plan)
    sender.run(4)
    assert sender.trace("test").widths_half_us[:, 0].max() == us(1575)


def test_a_share_of_the_travel_is_a_width() -> None:
    scripted = script(SMALL, trial("move wheel to 12.5 %"))
    widths = scripted.trace.widths_half_us[:, SMALL.controls[WHEEL].channel]
    assert widths[-1] == us(1125)
