"""What the receiver's pins carry: channels of their own, the sum signal, and shared channels."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import show
from gen.plan import (
    HALF_US_PER_US,
    NOTHING_THERE,
    SUM_SIGNAL,
    Channel,
    Sharing,
    SumSignal,
)
from gen.read.keys import Located
from gen.ship import ChannelItem
from gen.units import us_text

if TYPE_CHECKING:
    from gen.diagnostics import Place, Problems
    from gen.resolve.codes import Codes
    from gen.resolve.pins import Pins
    from gen.ship import ReceiverItem, SumItem

NO_LOST_BELOW = 0
NO_LOST_ABOVE = 0xFFFF

UNUSED = "unused"
"""Stands in the list of a sum signal for a place that nothing on the ship needs."""

PLACES_LEAST, PLACES_MOST = 2, 18
"""How many channels a sum signal has: receivers were seen with 5 to 18 (common practice, no
source)."""

NARROWEST_MARKER_US = 20
"""A marker's band is at least this wide: less would be lost in the noise of a fair receiver."""


class Channels:
    """Resolves the receiver; each problem is noted."""

    def __init__(
        self, receiver: ReceiverItem, codes: Codes, pins: Pins, problems: Problems
    ) -> None:
        self.receiver = receiver
        self.codes = codes
        self.pins = pins
        self.problems = problems
        self.items = dict(receiver.channels.items) if receiver.channels is not None else {}
        self.broken = receiver.channels.broken if receiver.channels is not None else frozenset()
        self.in_sum = {
            name.value: name
            for name in (receiver.sum_signal.channels if receiver.sum_signal is not None else ())
            if name.value != UNUSED
        }

    def resolve(self) -> tuple[tuple[Channel, ...], SumSignal | None]:
        """The channels by name, and the sum signal if there is one."""
        receiver, described = self.receiver, self.receiver.sum_signal
        if receiver.channels is None and described is None:
            what = "receiver: it has neither channels nor a sum signal"
            self.problems.add("missing-key", receiver.place, what, expected="'channels:'")
        for name, written in self.in_sum.items():
            if name not in self.items and name not in self.broken:
                self.items[name] = ChannelItem(place=written.place, name=written)
        sum_pin = self._sum_pin(described) if described is not None else ""
        channels = sorted(
            (self._channel(item, sum_pin) for item in self.items.values()),
            key=lambda channel: channel.name,
        )
        if described is None:
            return tuple(channels), None
        return tuple(channels), self._sum_signal(described, sum_pin, channels)

    # Channels

    def _channel(self, item: ChannelItem, sum_pin: str) -> Channel:
        name = item.name.value
        label = f"channel {show(name)}"
        valid = (item.valid or self.receiver.valid).value
        pin = sum_pin if name in self.in_sum else self._own_pin(item, label)
        if name in self.in_sum and item.pin is not None:
            what = f"{label}: it comes with the sum signal and has no pin of its own"
            self.problems.add("pin-of-two", item.pin.place, what, got=show(item.pin.text))
        below, above = self._lost_bands(item, valid, label)
        return Channel(
            name=name,
            code=self.codes.whole(item.name, label, item.code_name, suffix="_channel"),
            pin=pin,
            valid_half_us=valid,
            lost_below_half_us=below,
            lost_above_half_us=above,
            lost_after_ticks=(item.lost_after or self.receiver.lost_after).value,
            source_line=item.place.line,
            sharing=self._sharing(item, (max(valid[0], below), min(valid[1], above)), label),
        )

    def _own_pin(self, item: ChannelItem, label: str) -> str:
        if item.pin is None:
            hint = "name it in the list of the sum signal" if self.in_sum else ""
            what = f"{label}: it has no pin"
            self.problems.add("missing-key", item.place, what, expected="pin: D2", hint=hint)
            return ""
        pin = self.pins.take_for_channel(item.pin, label)
        return pin.name if pin is not None else item.pin.value

    def _lost_bands(self, item: ChannelItem, valid: tuple[int, int], label: str) -> tuple[int, int]:
        below = item.lost_below.value if item.lost_below is not None else NO_LOST_BELOW
        above = item.lost_above.value if item.lost_above is not None else NO_LOST_ABOVE
        inside = f"inside {us_text(valid[0])}..{us_text(valid[1])} us"
        for limit in (item.lost_below, item.lost_above):
            if limit is not None and not valid[0] < limit.value < valid[1]:
                what = f"{label}: the lost band lies outside of valid pulses"
                self._lost_band(limit, what, inside)
        if item.lost_below is not None and item.lost_above is not None and below >= above:
            what = f"{label}: the two lost bands leave no good pulse"
            self._lost_band(item.lost_above, what, f"more than {us_text(below)} us")
            return NO_LOST_BELOW, NO_LOST_ABOVE
        return below, above

    def _lost_band(self, limit: Located[int], what: str, expected: str) -> None:
        self.problems.add("lost-band", limit.place, what, got=show(limit.text), expected=expected)

    # Shared channels

    def _sharing(self, item: ChannelItem, heard: tuple[int, int], label: str) -> Sharing | None:
        """`heard` are the pulses that say something else than that the signal is lost."""
        if item.shares is None or item.marker is None:
            self._half_shared(item, label)
            return None
        low, high = heard
        below, limit = item.marker.value
        band = (low, min(limit - 1, high)) if below else (max(limit + 1, low), high)
        wide = band[1] - band[0] >= NARROWEST_MARKER_US * HALF_US_PER_US
        if not wide or not low < limit < high:
            self.problems.add(
                "marker-band",
                item.marker.place,
                f"{label}: the marker's band is too narrow, or leaves nothing for slots",
                got=show(item.marker.text),
                expected=f"a width within {us_text(low + 2 * NARROWEST_MARKER_US)}.."
                f"{us_text(high - 2 * NARROWEST_MARKER_US)} us",
            )
        frames = item.frames_per_slot.value if item.frames_per_slot is not None else 1
        return Sharing(item.shares.value, band, frames)

    def _half_shared(self, item: ChannelItem, label: str) -> None:
        shared = {
            "shares": item.shares,
            "marker": item.marker,
            "frames per slot": item.frames_per_slot,
        }
        for key, value in shared.items():
            if value is not None:
                lacking = "marker" if key == "shares" else "shares"
                what = f"{label}: the key {show(key)} needs the key {show(lacking)}"
                expected = {"marker": "marker: below 950 us", "shares": "shares: 8 slots"}[lacking]
                self.problems.add("half-shared", value.place, what, expected=expected)

    # The sum signal

    def _sum_pin(self, item: SumItem) -> str:
        pin = self.pins.take_for_channel(item.pin, SUM_SIGNAL)
        return pin.name if pin is not None else item.pin.value

    def _sum_signal(self, item: SumItem, pin: str, channels: list[Channel]) -> SumSignal:
        self._check_places(item)
        name = Located(SUM_SIGNAL, SUM_SIGNAL, item.place)
        numbers = {channel.name: number for number, channel in enumerate(channels)}
        valid = self.receiver.valid.value
        if item.gap.value <= valid[1]:
            self._sum_problem(
                "gap-short",
                item.gap.place,
                "a pulse could be as long as the gap",
                got=show(item.gap.text),
                expected=f"more than {us_text(valid[1])} us",
            )
        return SumSignal(
            code=self.codes.whole(name, SUM_SIGNAL, None, suffix="_channel"),
            pin=pin,
            channels=tuple(numbers.get(one.value, NOTHING_THERE) for one in item.channels),
            gap_half_us=item.gap.value,
            valid_half_us=valid,
            falling=item.polarity.value == "falling",
            source_line=item.place.line,
        )

    def _check_places(self, item: SumItem) -> None:
        places = [one.value for one in item.channels]
        if not PLACES_LEAST <= len(places) <= PLACES_MOST or not self.in_sum:
            self._sum_problem(
                "wrong-count",
                item.place,
                "the wrong number of channels",
                got=str(len(places)),
                expected=f"from {PLACES_LEAST} to {PLACES_MOST}, one of them used",
            )
        for number, one in enumerate(item.channels):
            if one.value != UNUSED and one.value in places[:number]:
                what = f"channel {show(one.value)} stands there twice"
                self._sum_problem("twice-in-sum", one.place, what)

    def _sum_problem(
        self, code: str, place: Place, what: str, *, got: str = "", expected: str = ""
    ) -> None:
        self.problems.add(code, place, f"{SUM_SIGNAL}: {what}", got=got, expected=expected)
