"""Every finding in words: what, how sure, by what evidence, and what would make it surer."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from host_tools.learn.finding import Finding, Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.loss import Loss

if TYPE_CHECKING:
    from collections.abc import Iterator

    from host_tools.learn.learned import ChannelFound, ControlFound, Learned, Shared
    from host_tools.learn.recording import Recording
    from host_tools.learn.totals import SumFound

FRAMES_LEAST = 200
FINE_US = 8_000
"""A period that is not much longer than a tick is known to half a per cent only."""

JITTER_SEEN_US = 300
"""A trace knows of a pulse only its tick: less than that cannot be told from none."""


def all_findings(learned: Learned, recording: Recording) -> Learned:
    """The same with its findings."""
    findings = [
        *_frame(learned),
        *(_sum(one) for one in learned.sums),
        *_unused(learned, recording),
        *(one for channel in learned.channels for one in _channel(channel)),
        *(one for control in learned.controls for one in _control(control)),
    ]
    return replace(learned, findings=tuple(findings))


def _frame(learned: Learned) -> Iterator[Finding]:
    if not learned.channels:
        return
    frames = max(len(one.train) for one in learned.channels)
    jitter = learned.jitter_us
    shakes = (
        f"jitter {jitter:.0f} us"
        if jitter >= JITTER_SEEN_US
        else (f"jitter below {JITTER_SEEN_US} us")
    )
    digits = 2 if learned.period_us > FINE_US else 1
    yield Finding(
        "",
        f"a frame every {learned.period_us / 1000:.{digits}f} ms, {shakes}",
        Sure.SURE if frames >= FRAMES_LEAST else Sure.LIKELY,
        f"{frames} frames were heard",
        "" if frames >= FRAMES_LEAST else "record a minute",
    )
    if any(one.loss.loss is Loss.UNKNOWN for one in learned.channels):
        loss = learned.channels[0].loss
        what = "nobody knows what it does when the signal goes"
        yield Finding("", what, Sure.NOT_SURE, loss.evidence, loss.surer)


def _sum(found: SumFound) -> Finding:
    sides = {None: "", True: ", measured from falling edges", False: ", measured from rising edges"}
    evidence = (
        f"{found.whole_share:.1%} of {found.frames} frames have {found.places} places; places last "
        f"{found.widest_us:.0f} us at most and pauses {found.shortest_gap_us:.0f} us at least"
    )
    if found.falling is not None:
        level = "low" if found.falling else "high"
        evidence += f"; the separators are {level} for {found.separator_us:.0f} us"
    return Finding(
        found.name,
        f"a sum signal of {found.places} channels{sides[found.falling]}",
        Sure.SURE if found.is_clear else Sure.NOT_SURE,
        evidence,
        "" if found.is_clear else "look at its edges: record them with a logic analyser as VCD",
    )


def _unused(learned: Learned, recording: Recording) -> Iterator[Finding]:
    used = {one.name for one in learned.channels} | {one.name for one in learned.sums}
    for column, name in enumerate(recording.trace.channels):
        if name in used:
            continue
        pulses = int((recording.trace.widths_half_us[:, column] > 0).sum())
        if not pulses:
            continue
        a_second = pulses * 200 / max(recording.trace.ticks, 1)
        yield Finding(
            name,
            "no receiver's channel",
            Sure.LIKELY,
            f"{a_second:.0f} pulses a second came, and no frames in them",
            "if it is a sum signal, record its edges with a logic analyser as VCD"
            if a_second > 250
            else "",
        )


def _channel(channel: ChannelFound) -> Iterator[Finding]:
    low, high = (one / 2 for one in channel.said)
    missing = channel.train.missing / (int(channel.train.frame[-1]) + 1)
    yield Finding(
        channel.name,
        f"in use, {low:.0f} to {high:.0f} us, noise {channel.noise_half_us / 2:.1f} us",
        Sure.SURE,
        f"{len(channel.train)} pulses came, {missing:.1%} were missing",
    )
    if channel.is_restless:
        yield Finding(
            channel.name,
            "it carries several controls, but no marker was found",
            Sure.NOT_SURE,
            "its pulses jump all the time, and none of them comes round regularly",
            "record two minutes with the transmitter near, and every switch at another place",
        )
    if channel.shared is not None:
        yield from _shared(channel.name, channel.shared)
    if channel.loss.loss is not Loss.UNKNOWN:
        loss = channel.loss
        caught = "" if loss.is_caught else ", and no setting catches it"
        if loss.lost_below_us:
            caught = f", caught by 'lost below: {loss.lost_below_us} us'"
        if loss.lost_above_us:
            caught = f", caught by 'lost above: {loss.lost_above_us} us'"
        what = f"it {loss.loss.value} when the signal goes{caught}"
        yield Finding(channel.name, what, loss.sure, loss.evidence, loss.surer)


def _shared(name: str, shared: Shared) -> Iterator[Finding]:
    scheme, markers = shared.scheme, shared.markers
    side = "below" if markers.low else "above"
    lasts = f"{scheme.frames} frame" + "s" * (scheme.frames > 1)
    yield Finding(
        name,
        f"a shared channel: {scheme.slots} slots of {lasts}, marker {side} "
        f"{markers.limit_half_us / 2:.0f} us",
        scheme.sure,
        scheme.evidence,
        scheme.surer,
    )
    repeated, skipped, missing = scheme.faults
    yield Finding(
        name,
        f"{shared.whole_share:.0%} of its rounds arrive whole",
        Sure.SURE,
        f"{repeated:.1%} of its frames came twice, {skipped:.1%} were skipped and {missing:.1%} "
        "left a gap",
    )
    if shared.limit:
        yield Finding(
            name,
            "its scheme is understood, but a ship file cannot carry it",
            Sure.SURE,
            shared.limit,
            "use fewer slots, or a receiver that misses less",
        )


def _control(control: ControlFound) -> Iterator[Finding]:
    found = control.kind
    where = f"{control.channel}, slot {control.slot}" if control.slot else control.channel
    words = {
        Kind.KEY: "a key that springs back",
        Kind.SWITCH: f"a switch with {len(found.places)} positions that stays",
        Kind.STICK: "a stick",
        Kind.KNOB: "a knob, or a stick that stays",
        Kind.UNMOVED: "not moved: dead, frozen or forgotten",
    }[found.kind]
    yield Finding(f"{control.name} ({where})", words, found.sure, found.evidence, found.surer)
    if control.bands is not None:
        bands = control.bands
        yield Finding(
            f"{control.name} ({where})",
            f"answers after {control.response_s:.2f} s at most: settle {bands.settle}, hysteresis "
            f"{bands.hysteresis_half_us / 2:g} us",
            Sure.SURE if bands.strays < 0.05 else Sure.LIKELY,
            f"{bands.strays:.2%} of widths are reckoned to lie in another band than the lever, "
            f"and the noise is {control.heard.noise_half_us / 2:.1f} us",
        )
