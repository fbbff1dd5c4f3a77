"""Radios drawn from seeds, learned from one minute each. Figures over many more of them:
`python -m tests.benchmarks.learning 2000 2000`."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from host_tools.learn.finding import Sure
from host_tools.learn.learn import learn
from host_tools.learn.text import sections
from tests.radios.draw import draw_radio
from tests.radios.judge import judge, recording_of
from tests.radios.session import hour
from tests.radios.ship import misread, plan_of

SEEDS = range(5_000, 5_024)
WORKED_S = 400.0


@pytest.mark.parametrize("seed", SEEDS)
def test_the_scheme_is_right_and_nothing_is_said_wrongly(seed: int) -> None:
    judged, _, _ = judge(draw_radio(seed))
    assert judged.wrong == ()
    assert judged.scheme


@pytest.mark.parametrize("seed", [5_002, 5_011, 5_013])
def test_no_press_is_misread_afterwards(seed: int) -> None:
    radio = draw_radio(seed)
    _, learned, _ = judge(radio)
    assert learned is not None
    plan = plan_of(learned)
    assert plan is not None
    settle = max(one.settle_pulses for one in plan.controls)
    played = hour(radio, WORKED_S, hold=2 * settle + 8)
    every_s = max(radio.cycle_s, radio.frame_us / 1e6)
    assert misread(plan, played, max(1.0, (3 * settle + 10) * every_s)) == []


@pytest.mark.parametrize("seed", range(6))
def test_radios_without_a_shared_channel_have_none(seed: int) -> None:
    judged, learned, _ = judge(draw_radio(seed, box=False))
    assert judged.wrong == ()
    assert learned is not None
    assert "shares" not in sections(learned).text


@pytest.mark.parametrize("seed", [5_002, 5_018])
def test_a_silent_second_and_single_missing_pulses_change_nothing(seed: int) -> None:
    """Real receivers say nothing for the first second after power-up, and miss single pulses of one
    channel."""
    recording, _ = recording_of(draw_radio(seed))
    whole = learn(recording)
    table = recording.trace.widths_half_us.copy()
    table[recording.trace.at < 200] = 0
    dice = np.random.default_rng(seed)
    table[dice.random(len(table)) < 0.02, 0] = 0
    spoilt = learn(replace(recording, trace=replace(recording.trace, widths_half_us=table)))
    assert [(one.name, one.slot, one.kind.kind) for one in spoilt.controls] == [
        (one.name, one.slot, one.kind.kind) for one in whole.controls
    ]
    shared = [one.shared.scheme for one in spoilt.channels if one.shared is not None]
    assert [(one.slots, one.frames, one.sure) for one in shared] == [
        (one.shared.scheme.slots, one.shared.scheme.frames, Sure.SURE)
        for one in whole.channels
        if one.shared is not None
    ]


def test_the_same_recording_teaches_the_same() -> None:
    texts = set()
    for _ in range(2):
        _, learned, _ = judge(draw_radio(5_002))
        assert learned is not None
        texts.add(sections(learned).text)
    assert len(texts) == 1
