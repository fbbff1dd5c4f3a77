"""A way of the search as real pulses, on both ships' models: what is told was seen there.

Both ships hear the same pulses in the same ticks, from one receiver; what they do not look at is
at rest.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from gen.plan import NOTHING_THERE
from gen.response import FRAME_TICKS
from host_tools.compare.hands import NEW, OLD
from host_tools.model import Model
from host_tools.rows import as_rows
from host_tools.sensing import rest_reading
from host_tools.trace import NO_PULSE, Trace
from host_tools.transmitter import UNUSED_HALF_US, SumEncoder, preset_half_us, rest_half_us

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.compare.hands import Hands, Setting
    from host_tools.compare.sameness import Sameness
    from host_tools.record import Record, Rung


@dataclass(frozen=True)
class Held:
    """A setting, and for how many frames it is held."""

    setting: Setting
    frames: int


def held_of(path: Iterable[Setting]) -> tuple[Held, ...]:
    """What is set frame by frame, as what is held for how long."""
    return tuple(Held(one, len(list(same))) for one, same in itertools.groupby(path))


@dataclass(frozen=True)
class Seen:
    """What both ships did from a power-up on, which was in the tick `begun`."""

    begun: int
    old: Record
    new: Record


Apart: TypeAlias = "int | None"


class Quick:
    """The model without digests: only what is shown counts."""

    name = "model"
    takes_forces = False

    def __init__(self, plan: Plan) -> None:
        self.model = Model(plan)

    def run(self, trace: Trace) -> Record:
        """As `Model.run`."""
        return self.model.run(trace, digests=False)


class Replay:
    """Makes pulses of what a hand does, and runs them."""

    def __init__(self, same: Sameness, hands: Hands, asked_about: tuple[int, int]) -> None:
        self.same = same
        self.hands = hands
        self.asked_about = asked_about
        self.models: tuple[Rung, Rung] = (
            Quick(hands.plans[OLD]),
            Quick(hands.plans[NEW]),
        )

    def run(
        self,
        way: Sequence[Held],
        *,
        more_frames: int = 0,
        source: str = "",
        bare: bool = False,
        rungs: tuple[Rung, Rung] | None = None,
    ) -> tuple[Seen, ...]:
        """What both do, from power-up to power-up; what is held last, for some frames more.
        `bare`: channels that do not count say nothing."""
        last = Held(way[-1].setting, way[-1].frames + more_frames)
        parts: list[Seen] = []
        begun, kept = 0, (b"", b"")
        for off, same in itertools.groupby((*way[:-1], last), key=lambda one: one.setting.power):
            held = list(same)
            frames = sum(one.frames for one in held)
            if not off:
                records = []
                for side, rung in enumerate(rungs or self.models):
                    trace = self._trace(side, held, source, begun, bare=bare)
                    records.append(rung.run(replace(trace, kept=kept[side])))
                kept = (records[OLD].kept, records[NEW].kept)
                parts.append(Seen(begun * FRAME_TICKS, records[OLD], records[NEW]))
            begun += frames
        return tuple(parts)

    def differs(self, way: Sequence[Held], more_frames: int = 0, *, bare: bool = False) -> Apart:
        """The tick in which the models show something else first, counted from the first power-up;
        None if they do not."""
        return self.apart(self.run(way, more_frames=more_frames, bare=bare))

    def apart(self, parts: Sequence[Seen]) -> Apart:
        """The same of what was seen."""
        for part in parts:
            tick = self.first_difference(part.old, part.new)
            if tick is not None:
                return part.begun + tick
        return None

    def first_difference(self, old: Record, new: Record) -> int | None:
        """The first tick in which what is asked about is not the same in two records."""
        one, other = (
            shown_by(self.same, side, index, record)
            for side, index, record in zip((OLD, NEW), self.asked_about, (old, new), strict=True)
        )
        wrong = np.zeros(min(old.ticks, new.ticks), bool)
        for name in dict.fromkeys([*one, *other]):
            nothing = np.zeros(len(wrong), np.int64)
            mine, theirs = one.get(name, nothing), other.get(name, nothing)
            wrong |= mine[: len(wrong)] != theirs[: len(wrong)]
        ticks = np.flatnonzero(wrong)
        return int(ticks[0]) if len(ticks) else None

    def _trace(
        self, side: int, way: Sequence[Held], source: str, begun: int, *, bare: bool
    ) -> Trace:
        plan = self.hands.plans[side]
        frames = sum(one.frames for one in way)
        at, inputs, widths = [], [], []
        for number, one in enumerate(plan.inputs):
            if one.is_sum:
                ticks, told = self._sum(side, plan, way, begun)
            elif bare and self._number(side, one.channels[0]) is None:
                continue
            else:
                ticks, told = self._own(side, one.channels[0], way, begun)
            at.append(ticks)
            widths.append(told)
            inputs.append(np.full(len(ticks), number))
        ticks = np.concatenate([np.zeros(0, np.int64), *at])
        told = np.concatenate([np.zeros(0, np.int64), *widths])
        which = np.concatenate([np.zeros(0, np.int64), *inputs])
        out = (told != NO_PULSE) & (ticks < frames * FRAME_TICKS)
        rows, table = as_rows(ticks[out], which[out], told[out], len(plan.inputs))
        trace = Trace(
            ticks=frames * FRAME_TICKS,
            channels=tuple(one.name for one in plan.inputs),
            at=rows,
            widths_half_us=table,
            ship=plan.ship,
            plan_id=plan.plan_id,
            source=source,
        )
        if not plan.sensors:
            return trace
        return trace.with_readings(tuple(one.name for one in plan.sensors), self._felt(side, way))

    def _own(
        self, side: int, channel: int, way: Sequence[Held], begun: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        frames = np.arange(sum(one.frames for one in way))
        number = self._number(side, channel)
        if number is None:
            own = [one.channels[0] for one in self.hands.plans[side].inputs if not one.is_sum]
            turn = own.index(channel) * FRAME_TICKS // len(own)
        else:
            turn = self.hands.turn(number)
        return frames * FRAME_TICKS + turn, self._widths(side, channel, way, begun)

    def _number(self, side: int, channel: int) -> int | None:
        for number, pair in enumerate(self.hands.channels):
            if pair[side] == channel:
                return number
        return None

    def _widths(
        self, side: int, channel: int, way: Sequence[Held], begun: int
    ) -> NDArray[np.int64]:
        """What a channel says in each frame."""
        plan, number = self.hands.plans[side], self._number(side, channel)
        frames = sum(one.frames for one in way)
        if number is None:
            return self._at_rest(plan, channel, frames)
        period = self.hands.period_frames
        thumbs = [self.hands.said(number, side, frame) for frame in range(period)]
        fillers = [self.hands.filler(number, side, frame) for frame in range(period)]
        parts = []
        for one in way:
            cycle = [
                filler if thumb is None else one.setting.widths[thumb]
                for thumb, filler in zip(thumbs, fillers, strict=True)
            ]
            if number in one.setting.lost:
                cycle = [preset_half_us(plan.channels[channel])] * period
            parts.append(np.array(cycle, np.int64)[(begun + np.arange(one.frames)) % period])
            begun += one.frames
        return np.concatenate(parts)

    def _at_rest(self, plan: Plan, channel: int, frames: int) -> NDArray[np.int64]:
        sharing = plan.channels[channel].sharing
        slots = 0 if sharing is None else sharing.slots
        says = [rest_half_us(plan, channel, slot) for slot in range(slots + 1)]
        each = 1
        if sharing is not None:
            says[0] = sum(sharing.marker_half_us) // 2
            each = sharing.frames_per_slot
        cycle = np.repeat(np.array(says, np.int64), each)
        return cycle[np.arange(frames) % len(cycle)]

    def _sum(
        self, side: int, plan: Plan, way: Sequence[Held], begun: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        assert plan.sum_signal is not None  # noqa: S101 - who calls has looked
        encoder = SumEncoder(plan.sum_signal)
        frames = sum(one.frames for one in way)
        places = [
            np.full(frames, UNUSED_HALF_US)
            if channel == NOTHING_THERE
            else self._widths(side, channel, way, begun)
            for channel in encoder.channels
        ]
        return encoder.frames(np.arange(frames) * encoder.ticks, np.column_stack(places))

    def _felt(self, side: int, way: Sequence[Held]) -> list[tuple[int, int, int]]:
        plan = self.hands.plans[side]
        felt = [(0, index, rest_reading(plan, index)) for index in range(len(plan.sensors))]
        begun = 0
        for one in way:
            for sensor, readings in zip(self.hands.felt, one.setting.readings, strict=True):
                index = sensor.sensors[side]
                if index is not None:
                    felt.append((begun * FRAME_TICKS, index, readings[side]))
            begun += one.frames
        return felt


def shown_by(
    same: Sameness, side: int, index: int, record: Record
) -> dict[object, NDArray[np.int64]]:
    """What a function shows of itself in each tick of a record, as `observed.shown` has it."""
    mine = (same.old, same.new)[side]
    function = mine.plan.functions[index]
    made: dict[object, NDArray[np.int64]] = {}
    for line, name in mine.shown_lines[index].items():
        made[name] = ((record.lines >> np.uint64(line)) & np.uint64(1)).astype(np.int64)
    for servo in function.servos:
        made["servo"] = record.servos_half_us[:, servo].astype(np.int64)
    names = mine.outputs("lights", index)
    for light, name in zip(function.lights, names, strict=True):
        key = "light" if function.level_patterns is None else ("light", name)
        made[key] = record.levels[:, light].astype(np.int64)
    return made
