"""What trials say of lights that can be dimmed and of rhythms, and what they are told."""

from __future__ import annotations

import dataclasses

import pytest

from gen.behaviours import Dimmer, Loss, Rhythm
from gen.behaviours.dimmer import WHOLE_FADE
from gen.behaviours.trigger import Trigger, When
from gen.plan import Ask, Light
from gen.read.steps import AtLevel, Expect, Trial
from gen.read.trial_steps import StepError, parse_step
from host_tools.model import Model
from host_tools.plot import draw
from host_tools.states import Doing, brightness_text
from host_tools.trial import Failure, run, script
from tests.host_tools.wherry import DECK_KEY, DOWN, SMALL

CABIN = Dimmer(
    name="zabin",  # behind the others, so that their places stay
    code="cabin",
    on_loss=Loss.OFF,
    trigger=Trigger(When.HELD, Ask(DECK_KEY, DOWN)),
    brightness=102,
    knob=None,
    up_per_256=WHOLE_FADE // 200,
    down_per_256=WHOLE_FADE,
    flicker="",
    seed=1,
    drives=0,
)
PLAN = dataclasses.replace(
    SMALL,
    lights=(Light("cabin lamp", "cabin_lamp", "D3", "OC2B"),),
    functions=(*SMALL.functions, CABIN),
)
BLINKING = dataclasses.replace(
    SMALL,
    functions=tuple(
        Rhythm(
            name="lamp",
            code="lamp",
            on_loss=Loss.OFF,
            trigger=Trigger(When.ALWAYS),
            phases_ticks=(100, 100),
            begins_on=True,
            repeats=True,
            keeps_phase=False,
            drives=3,
            text="",
        )
        if function.name == "lamp"
        else function
        for function in SMALL.functions
    ),
)


def failures(*steps: str) -> list[Failure]:
    read = tuple(parse_step(text, line, PLAN) for line, text in enumerate(steps, 10))
    return run(PLAN, Trial("a trial", read, 9), Model(PLAN))


def test_a_level_is_read() -> None:
    read = parse_step("expect zabin at 40 % within 1 s", 1, PLAN)
    assert isinstance(read, Expect)
    assert read.claim == AtLevel(5, 102)


@pytest.mark.parametrize(
    "text", ["expect zabin at 101 %", "expect zabin at 40", "expect lamp at 4 %"]
)
def test_a_level_that_cannot_be(text: str) -> None:
    with pytest.raises(StepError):
        parse_step(text, 1, PLAN)


def test_a_level_that_is_met() -> None:
    assert not failures(
        *("expect zabin off", "hold deck key down", "expect zabin on within 0.2 s"),
        *(
            "expect zabin at 40 % within 1 s",
            "release deck key",
            "expect zabin at 0 % within 0.1 s",
        ),
    )


def test_a_level_that_is_not() -> None:
    (failure,) = failures("hold deck key down", "wait 1 s", "expect zabin at 60 %")
    assert failure.expected.startswith("zabin at 60 %")
    assert failure.seen == "zabin at 40 %"
    assert "zabin at 40 %" in failure.doing


def test_a_light_that_is_lit_is_not_off() -> None:
    (failure,) = failures("hold deck key down", "wait 1 s", "expect everything off")
    assert failure.seen == "horn on, zabin at 40 %"


def test_a_rhythm_is_on_and_pausing() -> None:
    steps = ("expect lamp on", "wait 0.2 s", "expect lamp pausing", "wait 0.5 s", "expect lamp on")
    read = tuple(parse_step(text, 1, BLINKING) for text in steps)
    told = run(BLINKING, Trial("a trial", read, 1), Model(BLINKING))
    assert [failure.step.text for failure in told] == []


def test_brightness_in_words() -> None:
    assert [brightness_text(duty) for duty in (0, 29, 255)] == ["0 %", "40 %", "100 %"]


def test_a_picture_shows_lights_and_rhythms() -> None:
    for plan in (PLAN, BLINKING):
        steps = tuple(parse_step(text, 1, plan) for text in ("hold deck key down", "wait 2 s"))
        record = Model(plan).run(script(plan, Trial("a trial", steps, 1)).trace)
        assert Doing(plan, record).state(plan.functions[-1]).shape == (record.ticks,)
        picture = draw(plan, record)
        assert picture.svg
        assert picture.png
