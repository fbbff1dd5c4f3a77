"""What is too short, too still or contradicts itself is refused, with what is missing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from host_tools.learn.finding import Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.learn import learn
from host_tools.learn.loss import Loss as LossFound
from host_tools.learn.recording import CannotLearn, Recording
from host_tools.learn.steps import OFF, Step
from host_tools.trace import Trace
from tests.radios.draw import draw_radio
from tests.radios.judge import recording_of
from tests.radios.put_out import Played
from tests.radios.radio import Box, Drops, Lever, Loss, OwnChannel, Radio, Repeats, Thing

KEY = Lever("key", Thing.KEY, (991, 2016), 1503, 0.0)
RADIO = Radio(
    seed=7,
    frame_us=20_000,
    jitter_us=0,
    noise_us=0.5,
    own=(OwnChannel("D2", KEY),),
    box=None,
    repeated=0,
    dropped=0,
    repeats=Repeats.LATE,
    drops=Drops.SILENT,
    glitches=0,
    loss=Loss.SILENT,
    preset_us=880,
)
PRESSES = [(5.0, 0.0), (5.02, 1.0), (6.0, 1.0), (6.02, 0.0), (7.0, 0.0), (7.02, -1.0), (8.0, -1.0),
           (8.02, 0.0), (9.0, 0.0), (9.02, 1.0), (10.0, 1.0), (10.02, 0.0), (11.0, 0.0),
           (11.02, -1.0), (12.0, -1.0), (12.02, 0.0)]  # fmt: skip
SWITCHES = tuple(Lever(f"s{n}", Thing.SWITCH_2, (991, 2016), 1503, -1.0) for n in range(5))


def test_too_short() -> None:
    played = Played(RADIO, 6.0, {"key": PRESSES})
    with pytest.raises(CannotLearn) as refused:
        learn(Recording.of([played.trace()]))
    assert refused.value.code == "learn-short"
    assert "record a minute" in refused.value.hint


def test_too_still() -> None:
    with pytest.raises(CannotLearn) as refused:
        learn(Recording.of([Played(RADIO, 30.0).trace()]))
    assert refused.value.code == "learn-still"
    assert "move every switch" in refused.value.hint


def test_no_pulse_at_all() -> None:
    trace = Trace(12_000, ("D2",), np.zeros(0, np.int64), np.zeros((0, 1), np.uint16))
    with pytest.raises(CannotLearn) as refused:
        Recording.of([trace])
    assert refused.value.code == "learn-nothing"


def test_pulses_that_are_no_frames() -> None:
    at = np.sort(np.random.default_rng(3).integers(0, 12_000, 60))
    table = np.full((60, 1), 3000, np.uint16)
    with pytest.raises(CannotLearn) as refused:
        learn(Recording.of([Trace(12_000, ("D2",), at, table)]))
    assert refused.value.code == "learn-nothing"


def test_steps_that_overlap() -> None:
    steps = [Step("still", 0, 1000), Step(OFF, 900, 2000)]
    with pytest.raises(CannotLearn) as refused:
        Recording.of([Played(RADIO, 60.0).trace()], steps)
    assert refused.value.code == "learn-contradicts"
    assert "overlap" in refused.value.what


def test_traces_of_two_receivers() -> None:
    one = Played(RADIO, 20.0).trace()
    with pytest.raises(CannotLearn) as refused:
        Recording.of([one, replace(one, channels=("D3",))])
    assert refused.value.code == "learn-contradicts"


def test_a_step_that_cannot_be_read() -> None:
    trace = replace(Played(RADIO, 20.0).trace(), source="recorded, steps: dance 0 s..5 s")
    with pytest.raises(CannotLearn) as refused:
        Recording.of([trace])
    assert refused.value.code == "learn-contradicts"


def test_several_traces_are_one_recording() -> None:
    still, moved = Played(RADIO, 8.0), Played(RADIO, 20.0, {"key": PRESSES})
    learned = learn(Recording.of([still.trace(), moved.trace()]))
    (control,) = learned.controls
    assert control.kind.kind is Kind.KEY
    assert learned.period_us == pytest.approx(20_000, rel=1e-4)


def test_a_transmitter_that_was_not_off_is_not_sure() -> None:
    moving = [*PRESSES, *((at + 10, place) for at, place in PRESSES)]
    played = Played(RADIO, 30.0, {"key": moving})
    learned = learn(Recording.of([played.trace()], [Step(OFF, 15 * 200, 22 * 200)]))
    (channel,) = learned.channels
    assert channel.loss.loss is LossFound.ALIVE
    assert channel.loss.sure is Sure.NOT_SURE


def test_a_lone_switch_at_its_other_end_may_be_the_marker() -> None:
    """Nothing else moves, and nobody knows how far the transmitter reaches: both come round."""
    levers = (*SWITCHES[:2], replace(SWITCHES[2], rest=1.0), *SWITCHES[3:])
    box = Box("box", levers, 1, 900, marker_low=True)
    radio = replace(RADIO, own=(), box=box)
    played = Played(radio, 60.0)
    with pytest.raises(CannotLearn) as refused:
        learn(Recording.of([played.trace()]))
    assert refused.value.code == "learn-still"
    knob = Lever("knob", Thing.KNOB, (1400, 1600), 1500, 0.0)
    radio = replace(radio, box=replace(box, levers=(*levers, knob)))
    sweep = [(20.0, 0.0), (22.0, -1.0), (24.0, -1.0), (27.0, 1.0), (30.0, 1.0), (33.0, 0.0)]
    learned = learn(Recording.of([Played(radio, 60.0, {"knob": sweep}).trace()]))
    shared = learned.channels[0].shared
    assert shared is not None
    assert shared.scheme.sure is Sure.NOT_SURE
    assert "both of its ends" in shared.scheme.surer


def test_too_many_slots_are_understood_and_not_carried() -> None:
    levers = tuple(replace(SWITCHES[0], name=f"s{n}", rest=(-1.0) ** n) for n in range(30))
    levers = (*levers, Lever("knob", Thing.KNOB, (1100, 1900), 1500, 0.0))
    radio = replace(RADIO, frame_us=10_000, box=Box("box", levers, 1, 900, marker_low=True))
    presses = {"key": PRESSES}
    learned = learn(Recording.of([Played(radio, 60.0, presses).trace()]))
    shared = next(one.shared for one in learned.channels if one.name == "box")
    assert shared is not None
    assert (shared.scheme.slots, shared.scheme.sure) == (31, Sure.SURE)
    assert not shared.is_carried
    assert any("cannot carry it" in one.what for one in learned.findings)


def test_a_guided_minute_has_its_steps() -> None:
    recording, _ = recording_of(draw_radio(3))
    assert [one.what for one in recording.steps][:2] == ["still", "move"]
    assert recording.off
