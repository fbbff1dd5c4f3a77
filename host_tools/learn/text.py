"""What was learned, as the sections of a ship file: text to paste.

Only what is sure or likely becomes a key. What is not stands as a comment, so that nothing is taken
for learned that is not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from host_tools.learn.finding import Sure
from host_tools.learn.kinds import Kind
from host_tools.learn.learn import marker_limit_us

if TYPE_CHECKING:
    from collections.abc import Mapping

    from host_tools.learn.learned import ChannelFound, ControlFound, Learned

PIN = re.compile(r"[DA][0-9]{1,2}")
PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9 _-]*")
NO_PIN = "which"
"""Stands for a pin that nobody knows; the check of the ship file asks for it."""

USUAL_LOST_AFTER_MS = 300


@dataclass(frozen=True)
class Entry:
    """One entry of a section: its name and its keys in order, or why it has none."""

    name: str
    keys: Mapping[str, str]
    doubt: str = ""

    def line(self, indent: str = "  ") -> str:
        """As one line of a section."""
        if self.doubt:
            return f"{indent}# {quoted(self.name)}: {self.doubt}"
        return f"{indent}{quoted(self.name)}: {flow(self.keys)}"


@dataclass(frozen=True)
class Sections:
    """What goes into `receiver:` (keys of its own, and `channels:`) and into `controls:`."""

    receiver: Mapping[str, str]
    channels: tuple[Entry, ...]
    controls: tuple[Entry, ...]

    @property
    def text(self) -> str:
        """The sections as text to paste."""
        lines = ["receiver:"]
        lines += [f"  {key}: {value}" for key, value in self.receiver.items()]
        if self.channels:
            lines += ["  channels:", *(entry.line("    ") for entry in self.channels)]
        lines += ["", "controls:", *(entry.line() for entry in self.controls)]
        return "\n".join(lines) + "\n"

    @property
    def written(self) -> int:
        """How many entries are more than a comment."""
        return sum(not entry.doubt for entry in (*self.channels, *self.controls))


def sections(learned: Learned, pins: Mapping[str, str] | None = None) -> Sections:
    """The sections; `pins` are those of channels that the trace does not name by their pins."""
    pins = pins or {}
    receiver: dict[str, str] = {}
    in_sum: set[str] = set()
    if learned.lost_after_ms != USUAL_LOST_AFTER_MS:
        receiver["lost after"] = f"{learned.lost_after_ms} ms"
    for found in learned.sums[:1]:
        if not found.is_clear:
            continue
        places = [f"{found.name} {place}" for place in range(1, found.places + 1)]
        in_sum = set(places)
        keys = {
            "pin": _pin(found.name, pins),
            "channels": "[" + ", ".join(quoted(one) for one in places) + "]",
            "gap": f"{found.gap_us} us",
        }
        if found.falling:
            keys["polarity"] = "falling"
        receiver["sum signal"] = flow(keys)
    usable = {one.name for one in learned.channels if not _doubt(one)}
    controls = [(one, _control(one)) for one in learned.controls if one.channel in usable]
    used = {control.channel for control, entry in controls if not entry.doubt}
    return Sections(
        receiver,
        tuple(_channel(one, pins, in_sum, is_used=one.name in used) for one in learned.channels),
        tuple(entry for _, entry in controls),
    )


def _doubt(channel: ChannelFound) -> str:
    if channel.is_restless:
        return "not sure: it carries several controls, but no marker was found"
    if channel.shared is not None:
        scheme = channel.shared.scheme
        if scheme.sure is Sure.NOT_SURE:
            return f"not sure: shares {scheme.slots} slots, perhaps"
        if channel.shared.limit:
            return f"shares {scheme.slots} slots of {scheme.frames}, but {channel.shared.limit}"
    return ""


def _channel(
    channel: ChannelFound, pins: Mapping[str, str], in_sum: set[str], *, is_used: bool
) -> Entry:
    doubt = _doubt(channel) or ("" if is_used else "in use, but nothing on it was learned")
    if doubt:
        return Entry(channel.name, {}, doubt)
    keys = {} if channel.name in in_sum else {"pin": _pin(channel.name, pins)}
    if channel.shared is not None:
        scheme, markers = channel.shared.scheme, channel.shared.markers
        side = "below" if markers.low else "above"
        keys["shares"] = f"{scheme.slots} slots"
        keys["marker"] = f"{side} {marker_limit_us(markers)} us"
        if scheme.frames > 1:
            keys["frames per slot"] = str(scheme.frames)
    if channel.loss.lost_below_us:
        keys["lost below"] = f"{channel.loss.lost_below_us} us"
    if channel.loss.lost_above_us:
        keys["lost above"] = f"{channel.loss.lost_above_us} us"
    if channel.valid_us is not None:
        keys["valid"] = f"{channel.valid_us[0]}..{channel.valid_us[1]} us"
    return Entry(channel.name, keys)


def _control(control: ControlFound) -> Entry:
    found = control.kind
    if found.sure is Sure.NOT_SURE:
        where = f"{control.channel}, slot {control.slot}" if control.slot else control.channel
        return Entry(control.name, {}, f"not sure ({where}): {found.evidence}")
    keys = {"from": quoted(control.channel)}
    if control.slot:
        keys["slot"] = str(control.slot)
    keys["kind"] = found.kind.value
    if control.bands is not None:
        bands = control.bands
        keys["positions"] = flow({name: f"{low}..{high} us" for name, low, high in bands.positions})
        keys["rest"] = bands.rest
        keys["settle"] = f"{bands.settle} pulses"
        keys["hysteresis"] = _us(bands.hysteresis_half_us)
        return Entry(control.name, keys)
    low, high = (round(one / 2) for one in found.places)
    keys["ends"] = f"{low}..{high} us"
    if found.kind is Kind.STICK:
        keys["centre"] = _us(round(found.rest))
        middle = round(found.rest / 2)
        below, above = (middle - low) * 2 // 5, (high - middle) * 2 // 5
        keys["positions"] = flow(
            {
                "low": f"{low}..{middle - below} us",
                "centre": f"{middle - below // 2}..{middle + above // 2} us",
                "high": f"{middle + above}..{high} us",
            }
        )
    keys["dead band"] = _us(control.dead_band_half_us)
    return Entry(control.name, keys)


def _pin(name: str, pins: Mapping[str, str]) -> str:
    return pins.get(name) or (name if PIN.fullmatch(name) else NO_PIN)


def _us(half_us: int) -> str:
    return f"{half_us / 2:g} us"


def flow(keys: Mapping[str, str]) -> str:
    """Keys in braces."""
    return "{" + ", ".join(f"{quoted(key)}: {value}" for key, value in keys.items()) + "}"


def quoted(name: str) -> str:
    """A name as YAML takes it for a text, in quotes only where that is needed."""
    if PLAIN.fullmatch(name):
        return name
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
