"""Controls of the plan."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.diagnostics import nearest, show
from gen.plan import HALF_US_PER_US, ON_ITS_OWN, Control, Position
from gen.read.keys import Located
from gen.units import us_text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.diagnostics import Place, Problems
    from gen.plan import Channel
    from gen.resolve.codes import Codes
    from gen.ship import ControlItem, Ship

NOWHERE = -1
"""Where a control rests whose rest has been complained about; no plan is made of it."""

LEAST_CYCLES = 2
"""So many cycles of a shared channel must agree before a control on it changes."""

ENDS_US = (1000, 2000)
DEAD_BAND_US = 4
PROPORTIONAL = ("stick", "knob")

BANDS_US: Mapping[str, tuple[tuple[str, int, int], ...]] = {
    "key": (("down", 800, 1300), ("centre", 1400, 1600), ("up", 1700, 2200)),
    "switch": (("off", 800, 1400), ("on", 1600, 2200)),
    "stick": (("low", 800, 1300), ("centre", 1400, 1600), ("high", 1700, 2200)),
    "knob": (("anywhere", 0, 0x7FFF),),
}
"""The positions that a control of each kind has by itself (common practice, no source)."""

REST = {"key": "centre", "switch": "off", "stick": "centre", "knob": "anywhere"}


@dataclass(frozen=True)
class Band:
    """A position before its name is folded. `place` is where it is written, None by default."""

    name: str
    low_half_us: int
    high_half_us: int
    place: Place | None = None

    @property
    def text(self) -> str:
        """As people write it."""
        return f"{us_text(self.low_half_us)}..{us_text(self.high_half_us)} us"


def resolve_controls(
    ship: Ship,
    channels: tuple[Channel, ...],
    broken_channels: frozenset[str],
    codes: Codes,
    problems: Problems,
) -> tuple[Control, ...]:
    """The controls by name, each problem noted. `broken_channels` are those that have been
    complained about."""
    resolver = _Controls(channels, broken_channels, codes, problems)
    controls = [resolver.control(item) for item in ship.controls]
    return tuple(sorted(controls, key=lambda control: control.name))


class _Controls:
    def __init__(
        self,
        channels: tuple[Channel, ...],
        broken_channels: frozenset[str],
        codes: Codes,
        problems: Problems,
    ) -> None:
        self.channels = channels
        self.broken_channels = broken_channels
        self.codes = codes
        self.problems = problems

    def control(self, item: ControlItem) -> Control:
        label = f"control {show(item.name.value)}"
        kind = item.kind.value
        channel = self._channel_index(item, label)
        bands = self._bands(item, self.channels[channel] if channel is not None else None)
        hysteresis = item.hysteresis.value
        if channel is not None:
            self._check_bands(item, bands, self.channels[channel], label)
        self._check_neighbours(item, bands, hysteresis, label)
        value = "_value" if kind in PROPORTIONAL else ""
        code = self.codes.whole(item.name, label, item.code_name, also=value)
        ends = self._ends(item, channel, label)
        self._check_centre(item, ends, label)
        return Control(
            name=item.name.value,
            code=code,
            kind=kind,
            channel=channel or 0,
            positions=tuple(self._position(band, item, code, label) for band in bands),
            rest=self._rest(item, bands, label),
            hysteresis_half_us=hysteresis,
            settle_pulses=item.settle.value,
            proportional=kind in PROPORTIONAL,
            dead_band_half_us=self._dead_band(item, label),
            ends_half_us=ends,
            source_line=item.place.line,
            slot=self._slot(item, self.channels[channel], label)
            if channel is not None
            else ON_ITS_OWN,
        )

    def _slot(self, item: ControlItem, channel: Channel, label: str) -> int:
        """Its slot, if and only if its channel is shared."""
        sharing, slot = channel.sharing, item.slot
        if sharing is None:
            if slot is not None:
                what = f"{label}: {show(channel.name)} is not shared and has no slots"
                hint = f"give {show(channel.name)} the keys 'shares' and 'marker'"
                self.problems.add("slot-or-not", slot.place, what, hint=hint)
            return ON_ITS_OWN
        if slot is None:
            what = f"{label}: {show(channel.name)} is shared, which slot is it?"
            expected = f"'slot: ' and a number from 1 to {sharing.slots}"
            self.problems.add("slot-or-not", item.place, what, expected=expected)
            return ON_ITS_OWN
        if slot.value > sharing.slots:
            what = f"{label}: {show(channel.name)} has not so many slots"
            expected = f"at most {sharing.slots}"
            self.problems.add(
                "out-of-range", slot.place, what, got=show(slot.text), expected=expected
            )
        if item.settle.value < LEAST_CYCLES:
            what = f"{label}: one cycle alone cannot be believed on a shared channel"
            self.problems.add(
                "out-of-range",
                item.settle.place,
                what,
                got=show(item.settle.text),
                expected=f"at least {LEAST_CYCLES} pulses",
            )
        return slot.value

    def _channel_index(self, item: ControlItem, label: str) -> int | None:
        names = [channel.name for channel in self.channels]
        if item.from_.value in names:
            return names.index(item.from_.value)
        if item.from_.value not in self.broken_channels:
            self.problems.add(
                "unknown-name",
                item.from_.place,
                f"{label}: there is no such channel",
                got=show(item.from_.text),
                hint=nearest(item.from_.value, names),
            )
        return None

    def _bands(self, item: ControlItem, channel: Channel | None) -> list[Band]:
        """The positions in rising order; those of its kind are cut to what its channel can say."""
        if item.positions is not None:
            bands = [
                Band(name, *band.value, band.place) for name, band in item.positions.items.items()
            ]
            return sorted(bands, key=lambda band: (band.low_half_us, band.high_half_us))
        least, most = _heard(channel) if channel is not None else (0, 0xFFFF)
        return [
            Band(name, max(low * HALF_US_PER_US, least), min(high * HALF_US_PER_US, most))
            for name, low, high in BANDS_US[item.kind.value]
        ]

    def _check_bands(
        self, item: ControlItem, bands: list[Band], channel: Channel, label: str
    ) -> None:
        """Every band holds only pulses that its control can hear."""
        valid = channel.valid_half_us
        for band in bands:
            place = band.place or item.place
            inside = f"within {us_text(valid[0])}..{us_text(valid[1])} us"
            if band.low_half_us > band.high_half_us:
                what = f"{label}: its own {show(band.name)} is never heard on {show(channel.name)}"
                expected = "'positions: ' with bands for this channel"
                self.problems.add("band-outside", place, what, expected=expected)
            elif band.low_half_us < valid[0] or band.high_half_us > valid[1]:
                what = f"{label}: {show(band.name)} reaches outside of valid pulses"
                self.problems.add("band-outside", place, what, got=band.text, expected=inside)
            else:
                self._check_lost(band, place, channel, f"{label}: {show(band.name)}")

    def _check_lost(self, band: Band, place: Place, channel: Channel, label: str) -> None:
        what = f"{label} reaches into the lost band of {show(channel.name)}"
        if band.low_half_us < channel.lost_below_half_us:
            expected = f"from {us_text(channel.lost_below_half_us)} us on"
        elif band.high_half_us > channel.lost_above_half_us:
            expected = f"at most {us_text(channel.lost_above_half_us)} us"
        else:
            self._check_marker(band, place, channel, label)
            return
        self.problems.add("band-lost", place, what, got=band.text, expected=expected)

    def _check_marker(self, band: Band, place: Place, channel: Channel, label: str) -> None:
        if channel.sharing is None:
            return
        low, high = channel.sharing.marker_half_us
        if band.low_half_us <= high and band.high_half_us >= low:
            what = f"{label} reaches into the marker of {show(channel.name)}"
            expected = f"outside {us_text(low)}..{us_text(high)} us"
            self.problems.add("marker-band", place, what, got=band.text, expected=expected)

    def _check_neighbours(
        self, item: ControlItem, bands: list[Band], hysteresis: int, label: str
    ) -> None:
        for lower, upper in itertools.pairwise(bands):
            if upper.low_half_us <= lower.high_half_us:
                self.problems.add(
                    "band-overlap",
                    upper.place or item.place,
                    f"{label}: {show(upper.name)} overlaps {show(lower.name)}",
                    got=upper.text,
                    expected=f"beginning above {us_text(lower.high_half_us)} us",
                )
                continue
            for one, other in ((lower, upper), (upper, lower)):
                reach = (one.low_half_us - hysteresis, one.high_half_us + hysteresis)
                middle = (other.low_half_us + other.high_half_us) // 2
                if reach[0] <= middle <= reach[1]:
                    self.problems.add(
                        "hysteresis-wide",
                        item.hysteresis.place,
                        f"{label}: {show(one.name)}, once taken, would reach the middle of "
                        f"{show(other.name)}",
                        got=show(item.hysteresis.text),
                        expected=f"less than {self._gap(one, middle)} us",
                    )

    @staticmethod
    def _gap(band: Band, middle: int) -> str:
        return us_text(max(band.low_half_us - middle, middle - band.high_half_us))

    def _position(self, band: Band, item: ControlItem, code: str, label: str) -> Position:
        places = item.positions.places if item.positions is not None else {}
        name = Located(band.name, band.name, places.get(band.name, item.place))
        folded = self.codes.part(code, name, f"{label}: position {show(band.name)}")
        return Position(band.name, folded, band.low_half_us, band.high_half_us)

    def _rest(self, item: ControlItem, bands: list[Band], label: str) -> int:
        names = [band.name for band in bands]
        if item.rest is not None:
            if item.rest.value in names:
                return names.index(item.rest.value)
            self.problems.add(
                "unknown-name",
                item.rest.place,
                f"{label}: rest is none of its positions",
                got=show(item.rest.text),
                hint=nearest(item.rest.value, names),
            )
            return NOWHERE
        for usual in ("rest", REST[item.kind.value]):
            if usual in names:
                return names.index(usual)
        self.problems.add(
            "no-rest",
            item.place,
            f"{label}: which of its positions asks for nothing?",
            expected=f"'rest: ' and one of {', '.join(names)}",
        )
        return NOWHERE

    def _ends(self, item: ControlItem, channel: int | None, label: str) -> tuple[int, int]:
        ends = (ENDS_US[0] * HALF_US_PER_US, ENDS_US[1] * HALF_US_PER_US)
        if item.ends is None:
            return ends
        self._only_proportional(item, item.ends.place, label, "ends")
        if channel is not None:
            band = Band("ends", *item.ends.value, item.ends.place)
            self._check_bands(item, [band], self.channels[channel], label)
        return item.ends.value

    def _check_centre(self, item: ControlItem, ends: tuple[int, int], label: str) -> None:
        if item.centre is None:
            return
        self._only_proportional(item, item.centre.place, label, "centre")
        if not ends[0] < item.centre.value < ends[1]:
            self.problems.add(
                "out-of-range",
                item.centre.place,
                f"{label}: its centre lies outside of its ends",
                got=show(item.centre.text),
                expected=f"within {us_text(ends[0])}..{us_text(ends[1])} us",
            )

    def _dead_band(self, item: ControlItem, label: str) -> int:
        if item.dead_band is None:
            return DEAD_BAND_US * HALF_US_PER_US
        self._only_proportional(item, item.dead_band.place, label, "dead band")
        return item.dead_band.value

    def _only_proportional(self, item: ControlItem, place: Place, label: str, key: str) -> None:
        if item.kind.value not in PROPORTIONAL:
            what = f"{label}: a {item.kind.value} has no {show(key)}"
            self.problems.add("not-proportional", place, what, expected="kind: stick or kind: knob")


def _heard(channel: Channel) -> tuple[int, int]:
    """The pulses that say something of a control: neither that the signal is lost nor that a cycle
    begins."""
    low, high = channel.valid_half_us
    low, high = max(low, channel.lost_below_half_us), min(high, channel.lost_above_half_us)
    if channel.sharing is not None:
        first, last = channel.sharing.marker_half_us
        low, high = (last + 1, high) if first <= low else (low, first - 1)
    return low, high
