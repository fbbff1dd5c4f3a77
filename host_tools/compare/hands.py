"""One hand on both ships: what it can do in a frame of the receiver, and what each ship hears.

A thumb is one on both ships if it moves what is one control of both. In a frame of 20 ms a channel
with a pin of its own says one width, a shared channel its marker or one slot, or nothing comes.
What of all widths cannot be told apart by anything on either ship is tried once.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypeAlias

from gen.plan import MOST_COUNTS, ON_ITS_OWN, AnalogueSensor, DigitalSensor, Felt
from gen.response import FRAME_TICKS
from host_tools.compare.turning import telling_widths

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from gen.plan import Control, Plan, Sharing
    from host_tools.compare.reach import Reach
    from host_tools.compare.sameness import Sameness

MOST_CHOICES = 300
"""How many ways to set everything at once are tried: those that differ least from rest first."""

MOST_BASES = 4
"""From so many widths a stick is moved by a little, where its dead band is another one."""

OLD, NEW = 0, 1

Place: TypeAlias = "tuple[int, int]"
"""A channel and a slot of it."""


@dataclass(frozen=True)
class Thumb:
    """What one thumb moves. `places` is where each ship hears it (None: it does not); `controls`
    are pairs of a ship and a control of it; of `widths` the first is at rest."""

    places: tuple[Place | None, Place | None]
    controls: tuple[tuple[int, int], ...]
    widths: tuple[int, ...]


@dataclass(frozen=True)
class Felt2:
    """A sensor of both ships and what its pin can say on each: pairs of readings."""

    sensors: tuple[int | None, int | None]
    readings: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Setting:
    """Everything that a hand sets at once: a width for each thumb, the channels that are lost
    (by their number among `Hands.channels`), what each sensor's pin says. `power`: instead of all
    that the power goes off and comes back, which lasts a frame here."""

    widths: tuple[int, ...]
    lost: frozenset[int]
    readings: tuple[tuple[int, int], ...]
    power: bool = False


class Hands:
    """What can be moved of some functions (old ones, new ones) of two plans."""

    def __init__(self, same: Sameness, reached: tuple[Reach, Reach]) -> None:
        self.same = same
        self.plans: tuple[Plan, Plan] = (same.old.plan, same.new.plan)
        self.reached = reached
        self.controls = tuple(
            sorted({c for f in mine.every for c in plan.functions[f].controls})
            for plan, mine in zip(self.plans, reached, strict=True)
        )
        self.thumbs = tuple(self._thumbs())
        self.channels = tuple(self._channels())
        self.felt = tuple(self._felt())
        self.whole = True

    @cached_property
    def period_frames(self) -> int:
        """After so many frames all shared channels are where they were."""
        cycles = [
            sharing.cycle_frames
            for side in (OLD, NEW)
            for channel in self.channels
            if (index := channel[side]) is not None
            and (sharing := self.plans[side].channels[index].sharing) is not None
        ]
        return math.lcm(*cycles) if cycles else 1

    def turn(self, channel: int) -> int:
        """In which tick of a frame a channel (by its number here) is heard: as a receiver puts out
        the old ship's channels, one after another."""
        side = OLD if self.channels[channel][OLD] is not None else NEW
        plan, index = self.plans[side], self.channels[channel][side]
        own = [one.channels[0] for one in plan.inputs if not one.is_sum]
        return own.index(index) * FRAME_TICKS // len(own) if index in own else 0

    def slot_said(self, channel: int, side: int, frame: int) -> int:
        """Which slot a channel says in this frame; 0 is its marker, or all that it has to say."""
        ours, planned = self.channels[channel], self.plans[side]
        index = ours[side]
        assert index is not None  # noqa: S101 - who calls has looked
        sharing = self.format_of(channel, side)
        if planned.channels[index].sharing is None or sharing is None:
            return ON_ITS_OWN
        return frame // sharing.frames_per_slot % (sharing.slots + 1)

    def format_of(self, channel: int, side: int) -> Sharing | None:
        """How a channel is shared. A transmitter says to both ships what the old one knows."""
        old, index = self.channels[channel][OLD], self.channels[channel][side]
        mine = self.plans[side].channels[index].sharing if index is not None else None
        if old is None or mine is None:
            return mine
        return self.plans[OLD].channels[old].sharing or mine

    def said(self, channel: int, side: int, frame: int) -> int | None:
        """Which thumb (by number) a channel tells of in this frame; None: its marker, or a slot
        that nobody needs."""
        slot = self.slot_said(channel, side, frame)
        index = self.channels[channel][side]
        for number, thumb in enumerate(self.thumbs):
            if thumb.places[side] == (index, slot):
                return number
        return None

    def filler(self, channel: int, side: int, frame: int) -> int:
        """What is said where there is no thumb: the marker, or the middle of all widths."""
        index = self.channels[channel][side]
        assert index is not None  # noqa: S101 - who calls has looked
        planned = self.plans[side].channels[index]
        sharing = self.format_of(channel, side)
        if sharing is not None and self.slot_said(channel, side, frame) == 0:
            return sum(sharing.marker_half_us) // 2
        return sum(planned.valid_half_us) // 2

    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        """All that can be set at once, the least first."""
        axes: list[Sequence[object]] = [thumb.widths for thumb in self.thumbs]
        axes += [one.readings for one in self.felt]
        axes.append(self._losses())
        sizes = [len(axis) for axis in axes]
        if math.prod(sizes) <= MOST_CHOICES:
            picks: Iterable[tuple[int, ...]] = itertools.product(*map(range, sizes))
        else:
            self.whole = False
            picks = itertools.islice(_near_rest(sizes), MOST_CHOICES)
        ranked = sorted(picks, key=lambda one: (sum(map(bool, one)), one))
        thumbs = len(self.thumbs)
        made = []
        for pick in ranked:
            chosen = [axis[place] for axis, place in zip(axes, pick, strict=True)]
            made.append(Setting(tuple(chosen[:thumbs]), chosen[-1], tuple(chosen[thumbs:-1])))  # type: ignore[arg-type]
        return tuple(made)

    def _losses(self) -> list[frozenset[int]]:
        each = [frozenset({number}) for number in range(len(self.channels))]
        every = [frozenset(range(len(self.channels)))] if len(each) > 1 else []
        return [frozenset(), *each, *every]

    def _thumbs(self) -> Iterator[Thumb]:
        for group in self._groups():
            places: list[Place | None] = [None, None]
            controls = []
            for side, index in sorted(group):
                control = self.plans[side].controls[index]
                places[side] = (control.channel, control.slot)
                controls.append((side, index))
            yield Thumb((places[0], places[1]), tuple(controls), self._widths(controls))

    def _groups(self) -> list[set[tuple[int, int]]]:
        """Controls that one thumb moves: one control of both ships, or one channel and slot."""
        matching = self.same.matching
        mine = [(side, index) for side in (OLD, NEW) for index in self.controls[side]]
        groups: dict[tuple[int, int], set[tuple[int, int]]] = {one: {one} for one in mine}

        def join(one: tuple[int, int], other: tuple[int, int]) -> None:
            if one in groups and other in groups and groups[one] is not groups[other]:
                groups[one] |= groups[other]
                for member in groups[other]:
                    groups[member] = groups[one]

        for side, index in mine:
            control = self.plans[side].controls[index]
            for other in self.controls[side]:
                theirs = self.plans[side].controls[other]
                if (theirs.channel, theirs.slot) == (control.channel, control.slot):
                    join((side, index), (side, other))
            if side == OLD and index in matching.controls:
                join((OLD, index), (NEW, matching.controls[index]))
        for index in self.controls[OLD]:
            control = self.plans[OLD].controls[index]
            for other in self.controls[NEW]:
                theirs = self.plans[NEW].controls[other]
                same = matching.channels.get(control.channel) == theirs.channel
                alone = {side for side, _ in groups[OLD, index] | groups[NEW, other]}
                lonely = len(groups[OLD, index]) + len(groups[NEW, other]) == len(alone)
                if same and control.slot == theirs.slot and lonely and len(alone) == 2:
                    join((OLD, index), (NEW, other))
        unique = {id(group): group for group in groups.values()}
        return sorted(unique.values(), key=min)

    def _channels(self) -> list[tuple[int | None, int | None]]:
        """The channels that thumbs are heard on, on each ship."""
        made: dict[tuple[int | None, int | None], None] = {}
        for thumb in self.thumbs:
            old, new = (place[0] if place is not None else None for place in thumb.places)
            made.setdefault((old, new))
        return list(made)

    def _widths(self, controls: Sequence[tuple[int, int]]) -> tuple[int, ...]:
        planned = [self.plans[side].controls[index] for side, index in controls]
        alike = self._are_alike(controls)
        classes: dict[object, tuple[int, int]] = {}
        edges = sorted(set(self._edges(controls, margins=not alike)))
        for low, after in itertools.pairwise(edges):
            middle = (low + after - 1) // 2
            kind = self._kind(controls, middle, margins=not alike)
            width = after - low
            if kind not in classes or classes[kind][0] < width:
                classes[kind] = (width, middle)
        widths = [
            middle
            for _, middle in classes.values()
            if not alike or any(_position(one, middle) is not None for one in planned)
        ]
        for one in planned:
            if one.proportional:
                low, high = one.ends_half_us
                widths += [low, high, (low + high) // 2]
        widths += telling_widths(self.same, self.reached, controls)
        rest = _rest(planned, widths)
        dead = {one.dead_band_half_us for one in planned if one.proportional}
        if len(dead) > 1:  # a step that one ship follows and the other does not
            for base in (rest, *widths[:MOST_BASES]):
                widths += [base - min(dead) - 1, base + min(dead) + 1]
        return tuple(dict.fromkeys([rest, *sorted(widths, key=lambda w: abs(w - rest))]))

    def _are_alike(self, controls: Sequence[tuple[int, int]]) -> bool:
        matched, same = self.same.matching.controls, self.same.controls
        old = {index for side, index in controls if side == OLD}
        new = {index for side, index in controls if side == NEW}
        return old <= same and {matched[index] for index in old} == new

    def _edges(self, controls: Sequence[tuple[int, int]], *, margins: bool) -> Iterator[int]:
        for side, index in controls:
            control = self.plans[side].controls[index]
            channel = self.plans[side].channels[control.channel]
            yield from (channel.valid_half_us[0], channel.valid_half_us[1] + 1)
            for edge in (channel.lost_below_half_us, channel.lost_above_half_us + 1):
                if channel.valid_half_us[0] < edge <= channel.valid_half_us[1]:
                    yield edge
            margin = control.hysteresis_half_us if margins else 0
            for band in control.positions:
                for reach in {0, margin}:
                    yield from (band.low_half_us - reach, band.high_half_us + reach + 1)

    def _kind(self, controls: Sequence[tuple[int, int]], width: int, *, margins: bool) -> object:
        """By what a width can be told apart from others."""
        told: list[object] = []
        for side, index in controls:
            control = self.plans[side].controls[index]
            channel = self.plans[side].channels[control.channel]
            low, high = channel.valid_half_us
            preset = not channel.lost_below_half_us <= width <= channel.lost_above_half_us
            told.append((_position(control, width), low <= width <= high, preset))
            if margins:
                reach = control.hysteresis_half_us
                told += [
                    one.low_half_us - reach <= width <= one.high_half_us + reach
                    for one in control.positions
                ]
        return tuple(told)

    def _felt(self) -> Iterator[Felt2]:
        matched = self.same.matching.sensors
        mine = [self._sensors(side) for side in (OLD, NEW)]
        pairs: list[tuple[int | None, int | None]] = []
        for index in sorted(mine[OLD]):
            other = matched.get(index)
            pairs.append((index, other if other in mine[NEW] else None))
        taken = {new for _, new in pairs}
        pairs += [(None, new) for new in sorted(mine[NEW]) if new not in taken]
        for pair in pairs:
            yield Felt2(pair, tuple(self._readings(pair)))

    def _sensors(self, side: int) -> set[int]:
        plan = self.plans[side]
        found = set()
        for function in (plan.functions[index] for index in self.reached[side].exact):
            found |= {one.sensor for one in function.conditions if isinstance(one, Felt)}
            if function.gate.stage is not None:
                found.add(plan.stages[function.gate.stage].below.sensor)
        return found

    def _readings(self, pair: tuple[int | None, int | None]) -> Iterator[tuple[int, int]]:
        edges = {0}
        for side, index in enumerate(pair):
            if index is None:
                continue
            plan = self.plans[side]
            sensor = plan.sensors[index]
            if isinstance(sensor, DigitalSensor):
                lows = [
                    isinstance(one, DigitalSensor) and one.active_low
                    for one in (
                        self.plans[s].sensors[i] if i is not None else sensor
                        for s, i in enumerate(pair)
                    )
                ]
                for closed in (False, True):
                    yield int(closed != lows[0]), int(closed != lows[1])
                return
            assert isinstance(sensor, AnalogueSensor)  # noqa: S101 - there are two kinds
            bands = [
                one
                for function in plan.functions
                for one in function.conditions
                if isinstance(one, Felt) and one.sensor == index
            ]
            for stage in plan.stages:
                bands += [one for one in (stage.below, stage.above) if one.sensor == index]
            edges |= {edge for one in bands for edge in (one.low, one.high + 1)}
        for edge in sorted(one for one in edges if one <= MOST_COUNTS):
            yield edge, edge


def _near_rest(sizes: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Picks in which nothing differs from the first, one thing does, two do, three."""
    for many in range(4):
        for places in itertools.combinations(range(len(sizes)), many):
            for values in itertools.product(*(range(1, sizes[place]) for place in places)):
                pick = [0] * len(sizes)
                for place, value in zip(places, values, strict=True):
                    pick[place] = value
                yield tuple(pick)


def _position(control: Control, width: int) -> int | None:
    for index, band in enumerate(control.positions):
        if band.low_half_us <= width <= band.high_half_us:
            return index
    return None


def _rest(controls: Sequence[Control], widths: Sequence[int]) -> int:
    """The width that is at rest for most of them, the first one's middle best."""
    first = controls[0].positions[controls[0].rest]
    middle = (first.low_half_us + first.high_half_us) // 2
    best: Mapping[int, int] = {
        width: sum(_position(one, width) == one.rest for one in controls)
        for width in (*widths, middle)
    }
    return max(best, key=lambda width: (best[width], -abs(width - middle)))
