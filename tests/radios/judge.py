"""Whether what was learned of a drawn radio is what it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.learn.finding import Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.learn import learn
from host_tools.learn.loss import Loss as LossLearned
from host_tools.learn.recording import CannotLearn, Recording
from host_tools.learn.steps import Step
from tests.radios.radio import Loss, Thing
from tests.radios.session import levers_of, minute

if TYPE_CHECKING:
    from host_tools.learn.learned import ChannelFound, ControlFound, Learned
    from tests.radios.put_out import Played
    from tests.radios.radio import Lever, Radio

TICKS_A_SECOND = 200
KINDS = {
    Thing.KEY: (Kind.KEY, 3),
    Thing.SWITCH_3: (Kind.SWITCH, 3),
    Thing.SWITCH_2: (Kind.SWITCH, 2),
    Thing.STICK: (Kind.STICK, 2),
    Thing.KNOB: (Kind.KNOB, 2),
}
LOSSES = {
    Loss.SILENT: LossLearned.SILENT,
    Loss.HOLDS: LossLearned.HOLDS,
    Loss.PRESET: LossLearned.PRESET,
    Loss.ODD: LossLearned.PRESET,
}
PERIOD_WITHIN = 6e-3
"""A frame hardly longer than a tick is known no better, while pulses are missing."""


@dataclass(frozen=True)
class Judged:
    """`scheme`: whether the shared channel was understood exactly, to the frame; `wrong` is all
    that was said wrongly without being called not sure, `unsure` counts what was called so."""

    scheme: bool
    wrong: tuple[str, ...]
    unsure: int
    levers: int


def recording_of(radio: Radio, lasts_s: float = 60.0) -> tuple[Recording, Played]:
    """The minute with this radio. Raises CannotLearn."""
    played, steps = minute(radio, lasts_s)
    told = [
        Step(what, round(begin * TICKS_A_SECOND), round(end * TICKS_A_SECOND), name)
        for what, name, begin, end in steps
    ]
    return Recording.of([played.trace()], told), played


def judge(radio: Radio, lasts_s: float = 60.0) -> tuple[Judged, Learned | None, Played]:
    """Learn one minute of a radio, and hold it against the radio itself."""
    recording, played = recording_of(radio, lasts_s)
    try:
        learned = learn(recording)
    except CannotLearn:
        return Judged(False, (), 1, 0), None, played
    wrong: list[str] = []
    unsure = 0
    scheme = _scheme(radio, learned, wrong)
    if abs(learned.period_us / radio.frame_us - 1) > PERIOD_WITHIN:
        wrong.append(f"a frame of {learned.period_us:.0f} us for {radio.frame_us:.0f}")
    levers = levers_of(radio)
    for lever in levers:
        found = _found(radio, learned, lever)
        if found is None or found.kind.sure is Sure.NOT_SURE:
            unsure += 1
        elif not _is_right(found, lever, moved=lever.name in played.moves):
            wrong.append(f"{found.name}: {found.kind.kind.value} for {lever.thing.value}")
    for channel in learned.channels:
        expected = LOSSES[radio.loss]
        if channel.shared is not None and expected is not LossLearned.SILENT:
            expected = LossLearned.HOLDS  # frozen in turn: one and the same to a shared channel
        elif channel.loss.loss is LossLearned.HOLDS and _stands_there(radio, learned, channel):
            expected = LossLearned.HOLDS  # where its lever rests: nobody can tell the two apart
        if channel.loss.sure is not Sure.NOT_SURE and channel.loss.loss is not expected:
            wrong.append(f"{channel.name}: {channel.loss.loss.value} for {radio.loss.value}")
    return Judged(scheme, tuple(wrong), unsure, len(levers)), learned, played


def _stands_there(radio: Radio, learned: Learned, channel: ChannelFound) -> bool:
    """Whether a channel froze at the width at which its lever stands anyway."""
    rests = [one.kind.rest for one in learned.controls if one.channel == channel.name]
    return any(abs(rest - channel.loss.width_half_us) < 16 * radio.noise_us + 40 for rest in rests)


def _scheme(radio: Radio, learned: Learned, wrong: list[str]) -> bool:
    """Marker, slots and frames per slot, each exactly."""
    names = {one.name: one for one in learned.channels}
    for name, channel in names.items():
        if channel.shared is not None and (radio.box is None or name != radio.box.name):
            wrong.append(f"{name} is not shared")
    if radio.box is None:
        return True
    box = names.get(radio.box.name)
    if box is None or box.shared is None:
        return False
    scheme, markers = box.shared.scheme, box.shared.markers
    limit_us = markers.limit_half_us / 2
    ends = [lever.ends_us for lever in radio.box.levers]
    between = (
        radio.box.marker_us < limit_us < min(low for low, _ in ends)
        if radio.box.marker_low
        else max(high for _, high in ends) < limit_us < radio.box.marker_us
    )
    right = (scheme.slots, scheme.frames) == (len(radio.box.levers), radio.box.frames_per_slot)
    right = right and between and markers.low == radio.box.marker_low
    if not right and scheme.sure is not Sure.NOT_SURE:
        wrong.append(f"{scheme.slots} slots of {scheme.frames}, marker at {limit_us} us")
    return right and scheme.sure is not Sure.NOT_SURE


def _found(radio: Radio, learned: Learned, lever: Lever) -> ControlFound | None:
    box = radio.box
    if box is not None and lever in box.levers:
        place = (box.name, box.levers.index(lever) + 1)
    else:
        place = (next(one.name for one in radio.own if one.lever is lever), 0)
    return next((one for one in learned.controls if (one.channel, one.slot) == place), None)


def _is_right(found: ControlFound, lever: Lever, *, moved: bool) -> bool:
    """Its kind, how many places it has, where they are, and no other's name."""
    if not moved:
        return False
    kind, places = KINDS[lever.thing]
    low, high = lever.ends_us
    ends_us = (found.kind.places[0] / 2, found.kind.places[-1] / 2)
    near = max(abs(ends_us[0] - low), abs(ends_us[1] - high)) < 0.12 * (high - low)
    return (
        found.kind.kind is kind
        and len(found.kind.places) == places
        and found.name in (lever.name, f"{found.channel} {found.slot}")
        and near
    )
