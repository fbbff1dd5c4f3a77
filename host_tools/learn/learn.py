"""From a recording to all that can be learned from it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from gen.read.kinds import MOST_SLOTS
from host_tools.learn.bands import dead_band_half_us, find_bands, in_a_row, strays_in_turn
from host_tools.learn.cycle import are_good, find_scheme, whole_rounds
from host_tools.learn.kinds import Kind, doubted, find_kind
from host_tools.learn.learned import ON_ITS_OWN, ChannelFound, ControlFound, Learned, Shared
from host_tools.learn.levels import noise_half_us, spread_half_us
from host_tools.learn.loss import NOT_RECORDED, find_loss
from host_tools.learn.markers import candidates, choose
from host_tools.learn.naming import named
from host_tools.learn.recording import PULSES_LEAST, CannotLearn
from host_tools.learn.telling import all_findings
from host_tools.learn.totals import SumFound, find_sum, is_sum, trains_of
from host_tools.learn.train import Train
from host_tools.learn.visits import Heard

if TYPE_CHECKING:
    from host_tools.learn.kinds import KindFound
    from host_tools.learn.markers import Markers
    from host_tools.learn.recording import Recording

HALF_US = 2
VALID_US = (700, 2300)
"""What a ship file takes for pulses unless it says otherwise."""

MARGIN_US = 40
PERIOD_US = (4_000, 40_000)
"""Outside of that nothing is a receiver's frame (5 to 25 ms, and some room)."""

WITHOUT_PULSE_MOST = 0.5
ENDS = (0.003, 0.997)
RESTLESS = 0.3
"""The share of pulses that differ from those before them by more than the noise, at which more
than one lever must be speaking."""

BAD_ROUNDS_MOST = 6
OFTEN_LOST = 0.01
"""A channel is lost after BAD_ROUNDS_MOST bad rounds in a row; more often than in so many of all
rounds nobody wants it."""

WHOLE_LEAST = 0.5
"""Of fewer whole rounds what a lever does can no longer be made out."""

LOST_AFTER_MS = 300
GAPS = 3
"""`lost after` is so many times the longest gap that was seen while the transmitter was on."""


def learn(recording: Recording) -> Learned:
    """Everything. Raises CannotLearn where nothing can be."""
    trace = recording.trace
    sums: list[SumFound] = []
    every: list[Train] = []
    for column in range(len(trace.channels)):
        train = Train.of(trace, column)
        found = recording.sums.get(train.name)
        if found is None and is_sum(train.widths):
            found = find_sum(train.name, train.widths)
        if found is None:
            every.append(train)
        else:
            sums.append(found)
            every += trains_of(found, train)
    while_on = {
        train.name: train
        for whole in every
        for train in [_while_on(whole, recording)]
        if _in_use(train)
    }
    if not while_on and not sums:
        raise CannotLearn(
            "learn-nothing",
            "no pin hears a receiver: pulses of 0.5 to 2.5 ms, 40 to 250 times a second",
            "see that the receiver's signal wires and its 0 V are on the board's pins",
        )
    markers = {name: candidates(train) for name, train in while_on.items()}
    travel = _travel([train for name, train in while_on.items() if not markers[name]])
    channels, controls = [], []
    for whole in every:
        if whole.name not in while_on:
            continue
        channel = _channel(recording, whole, while_on[whole.name], markers[whole.name], travel)
        channels.append(channel)
        controls += _controls(channel, travel)
    if controls and all(one.kind.kind is Kind.UNMOVED for one in controls) and not sums:
        raise CannotLearn(
            "learn-still",
            "nothing moves in it",
            "move every switch, key, stick and knob to each of its ends twice while you record",
        )
    periods = [one.train.period_us for one in channels]
    controls = named(controls, recording)
    learned = Learned(
        source=trace.source,
        period_us=float(np.median(periods)) if periods else math.nan,
        jitter_us=float(np.median([one.train.jitter_us for one in channels])) if channels else 0.0,
        lost_after_ms=_lost_after_ms(channels),
        channels=tuple(channels),
        controls=tuple(controls),
        sums=tuple(sums),
        findings=(),
    )
    return all_findings(learned, recording)


def _while_on(train: Train, recording: Recording) -> Train:
    """Its pulses while the transmitter was on."""
    keep = np.ones(len(train), bool)
    for begin, end in recording.off:
        keep &= (train.at < begin) | (train.at >= end)
    return Train(train.name, train.at[keep], train.widths[keep])


def _in_use(train: Train) -> bool:
    """Whether a receiver's channel is on this pin."""
    if len(train) < PULSES_LEAST:
        return False
    return PERIOD_US[0] <= train.period_us <= PERIOD_US[
        1
    ] and train.missing <= WITHOUT_PULSE_MOST * len(train)


def _travel(trains: list[Train]) -> tuple[float, float] | None:
    """The widths that levers on channels of their own reach, None if none was moved."""
    ends = [np.quantile(train.widths, ENDS) for train in trains]
    moved = [(low, high) for low, high in ends if high - low > 4 * MARGIN_US * HALF_US]
    if not moved:
        return None
    return float(min(low for low, _ in moved)), float(max(high for _, high in moved))


def _channel(
    recording: Recording,
    whole: Train,
    train: Train,
    found: tuple[Markers, ...],
    travel: tuple[float, float] | None,
) -> ChannelFound:
    shared = _shared(train, found, travel) if found else None
    low, high = (float(one) for one in np.quantile(train.widths, ENDS))
    if shared is not None:
        noise = spread_half_us(train.widths[shared.markers.is_marker])
    else:
        noise = noise_half_us(train.widths)
    valid = (
        min(VALID_US[0], math.floor(low / HALF_US - MARGIN_US)),
        max(VALID_US[1], math.ceil(high / HALF_US + MARGIN_US)),
    )
    loss = NOT_RECORDED
    if recording.off:
        valid_half_us = (valid[0] * HALF_US, valid[1] * HALF_US)
        is_shared = shared is not None
        reach = (min(low, travel[0]), max(high, travel[1])) if travel is not None else (low, high)
        loss = find_loss(
            whole,
            recording.off[-1],
            reach,
            valid_half_us,
            noise_half_us=noise,
            shared=is_shared,
        )
    moves = np.abs(np.diff(train.widths))
    restless = float(np.mean(moves > 10 * noise + 2 * MARGIN_US)) > RESTLESS
    return ChannelFound(
        train=train,
        noise_half_us=noise,
        said=(low, high),
        loss=loss,
        shared=shared,
        is_restless=restless and shared is None,
        valid_us=valid if valid != VALID_US else None,
    )


def _shared(
    train: Train, found: tuple[Markers, ...], travel: tuple[float, float] | None
) -> Shared | None:
    chosen = choose(found, travel)
    if travel is not None:
        chosen = replace(chosen, markers=chosen.markers.short_of(travel))
    missing = train.missing / (int(train.frame[-1]) + 1)
    scheme = find_scheme(chosen.markers, missing)
    if scheme is None:
        return None
    if not chosen.why:
        scheme = scheme.doubted(
            "a switch that stands at its other end looks the same as the marker",
            "move every switch of this channel to both of its ends while you record",
        )
    else:
        scheme = scheme.because(chosen.why)
    rows = whole_rounds(chosen.markers, scheme.whole)
    rounds = max(int(chosen.markers.regular.sum()), 1)
    good = are_good(rows, chosen.markers, scheme.frames)
    share = min(float(good.sum()) / rounds, 1.0)
    return Shared(chosen.markers, scheme, share, _limit(scheme.slots, share))


def _limit(slots: int, share: float) -> str:
    """Why a plan cannot say this, "" if it can."""
    if slots > MOST_SLOTS:
        return f"a ship file has at most {MOST_SLOTS} slots"
    if (1 - share) ** BAD_ROUNDS_MOST > OFTEN_LOST:
        return (
            f"only {share:.0%} of its rounds arrive whole, so that {BAD_ROUNDS_MOST} bad ones in a "
            "row, at which its signal counts as lost, are ordinary"
        )
    return ""


def _controls(channel: ChannelFound, travel: tuple[float, float] | None) -> list[ControlFound]:
    train = channel.train
    if channel.shared is None:
        if channel.is_restless:
            return []
        heard = Heard(train.at, train.widths, train.period_us, channel.noise_half_us)
        return [_control(channel, channel.name, ON_ITS_OWN, heard, find_kind(heard, travel))]
    scheme, markers = channel.shared.scheme, channel.shared.markers
    rows = whole_rounds(markers, scheme.whole)
    begins = markers.starts[:-1][markers.rounds == scheme.whole]
    good = are_good(rows, markers, scheme.frames)
    rows, begins = rows[good], begins[good]
    at = train.at[np.searchsorted(train.frame, begins)] if len(begins) else begins
    every_us = train.period_us * scheme.whole
    said = rows[:, 2 * scheme.frames - 1 :: scheme.frames]
    strays = strays_in_turn(said, Heard(at, at, every_us, channel.noise_half_us).tolerance_half_us)
    least = in_a_row(strays, said.size)
    controls = []
    for slot in range(1, scheme.slots + 1):
        heard = Heard(
            at,
            said[:, slot - 1],
            every_us,
            channel.noise_half_us,
            in_slot=True,
            stands_least=least,
        )
        found = find_kind(heard, travel)
        if channel.shared.whole_share < WHOLE_LEAST:
            doubt = f"only {channel.shared.whole_share:.0%} of all rounds arrived whole"
            found = doubted(found, doubt, "record with the transmitter near")
        name = f"{channel.name} {slot}"
        controls.append(_control(channel, name, slot, heard, found, strays=strays))
    return controls


def _control(
    channel: ChannelFound,
    name: str,
    slot: int,
    heard: Heard,
    found: KindFound,
    *,
    strays: float | None = None,
) -> ControlFound:
    bands = None
    if found.kind in (Kind.KEY, Kind.SWITCH):
        bands = find_bands(heard, found, _may_say(channel), strays)
    settle = bands.settle if bands is not None else 1
    share = channel.shared.whole_share if channel.shared is not None else 1.0
    rounds = (settle + 1) / max(share, 1e-3)
    return ControlFound(
        name=name,
        channel=channel.name,
        slot=slot,
        heard=heard,
        kind=found,
        bands=bands,
        dead_band_half_us=dead_band_half_us(channel.noise_half_us),
        response_s=rounds * heard.every_us / 1e6,
    )


def _may_say(channel: ChannelFound) -> tuple[float, float]:
    """What a control on this channel may say: a valid pulse, neither lost nor a marker."""
    low, high = (one * HALF_US for one in channel.valid_us or VALID_US)
    if channel.loss.lost_below_us:
        low = max(low, channel.loss.lost_below_us * HALF_US)
    if channel.loss.lost_above_us:
        high = min(high, channel.loss.lost_above_us * HALF_US)
    if channel.shared is not None:
        limit = marker_limit_us(channel.shared.markers) * HALF_US
        low, high = (
            (max(low, limit), high) if channel.shared.markers.low else (low, min(high, limit))
        )
    return low, high


def marker_limit_us(markers: Markers) -> int:
    """The limit of the marker's band, whole microseconds."""
    return round(markers.limit_half_us / HALF_US)


def _lost_after_ms(channels: list[ChannelFound]) -> int:
    """Longer than any gap, in steps of 50 ms."""
    longest = 0.0
    for channel in channels:
        between = channel.train.frames_between
        ordinary = between[between * channel.train.period_us < LOST_AFTER_MS * 1000]
        if len(ordinary):
            longest = max(longest, float(ordinary.max()) * channel.train.period_us / 1000)
    return max(LOST_AFTER_MS, 50 * math.ceil(GAPS * longest / 50))
