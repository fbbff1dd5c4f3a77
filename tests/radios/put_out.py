"""What the receiver of a radio puts out while thumbs move: a trace."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from host_tools.rows import as_rows
from host_tools.trace import Trace
from tests.radios.radio import Box, Drops, Loss, OwnChannel, Repeats

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.radios.radio import Lever, Radio
    from tests.radios.thumbs import Move

TICK_US = 5_000


@dataclass
class Played:
    """A radio at work for `lasts_s`; the transmitter goes off at `off_s`."""

    radio: Radio
    lasts_s: float
    moves: dict[str, Move] = field(default_factory=dict)
    off_s: float = float("inf")
    seed: int = 0

    @cached_property
    def turns(self) -> dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]]:
        """When each lever that moves turns, and where."""
        return {
            name: (np.array([at for at, _ in move]), np.array([place for _, place in move]))
            for name, move in self.moves.items()
            if move
        }

    def place(self, lever: Lever, at_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Where a lever stands at these times, from -1 to 1."""
        if lever.name not in self.turns:
            return np.full(len(at_s), lever.rest)
        return np.interp(at_s, *self.turns[lever.name])

    def widths_us(self, lever: Lever, at_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """What the transmitter makes of it."""
        place = self.place(lever, at_s)
        low, high = lever.ends_us
        below = lever.centre_us + place * (lever.centre_us - low)
        above = lever.centre_us + place * (high - lever.centre_us)
        return np.where(place < 0, below, above)

    def trace(self) -> Trace:
        """Everything, tick by tick."""
        radio = self.radio
        dice = np.random.default_rng((radio.seed, self.seed))
        count = int(self.lasts_s * 1e6 / radio.frame_us)
        times_us = np.asarray((np.arange(count) + dice.random()) * radio.frame_us, np.float64)
        sent, asked, there = _frames(radio, count, dice)
        jittered = times_us + dice.normal(0, 1, count) * radio.jitter_us
        columns = []
        names = []
        channels: list[OwnChannel | Box] = [*radio.own]
        channels += [radio.box] if radio.box is not None else []
        for one in channels:
            at_s = times_us[asked] / 1e6
            if isinstance(one, Box):
                said = self._box(one, sent, at_s)
            elif one.lever is None:
                said = np.full(count, 1500.0)
            else:
                said = self.widths_us(one.lever, at_s)
            columns.append(self._received(said, times_us, there, dice))
            names.append(one.name)
        return self._as_trace(columns, names, jittered, dice)

    def _box(
        self, box: Box, sent: NDArray[np.int64], at_s: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        slot = sent // box.frames_per_slot % (len(box.levers) + 1)
        said = np.full(len(sent), box.marker_us)
        for number, lever in enumerate(box.levers, 1):
            mine = slot == number
            said[mine] = self.widths_us(lever, at_s[mine])
        return said

    def _received(
        self,
        said: NDArray[np.float64],
        times_us: NDArray[np.float64],
        there: NDArray[np.bool_],
        dice: np.random.Generator,
    ) -> NDArray[np.float64]:
        """With noise and glitches, and what is put out when the signal has gone; 0 is no pulse."""
        radio = self.radio
        count = len(said)
        heard = said + dice.normal(0, 1, count) * radio.noise_us
        heard = np.where(there, heard, 0)
        spoilt = dice.random(count) < radio.glitches
        heard[spoilt & there] = dice.uniform(700, 2300, int((spoilt & there).sum()))
        gone = times_us >= self.off_s * 1e6
        if gone.any():
            still = dice.normal(0, 1, count) * min(radio.noise_us, 0.5)
            last = said[int(np.argmax(gone)) - 1]
            heard[gone] = {
                Loss.SILENT: np.zeros(count),
                Loss.HOLDS: last + still,
                Loss.PRESET: radio.preset_us + still,
                Loss.ODD: dice.choice((755, 754, 548, 750, 793, 556, 1009)) + still,
            }[radio.loss][gone]
        return heard

    def _as_trace(
        self,
        columns: list[NDArray[np.float64]],
        names: list[str],
        times_us: NDArray[np.float64],
        dice: np.random.Generator,
    ) -> Trace:
        """The pulses of a frame end one after another; the tick is that of a pulse's end."""
        del dice
        ticks, inputs, widths = [], [], []
        for number, column in enumerate(columns):
            there = column > 0
            ends_us = times_us[there] + column[there] + number * 60.0
            ticks.append(np.floor(np.maximum(ends_us, 0) / TICK_US).astype(np.int64))
            inputs.append(np.full(int(there.sum()), number))
            widths.append(np.maximum(np.round(2 * column[there]), 1).astype(np.int64))
        at, inputs_flat = np.concatenate(ticks), np.concatenate(inputs)
        lasts = int(self.lasts_s * 1e6 / TICK_US) + 20
        inside = at < lasts
        rows, table = as_rows(
            at[inside], inputs_flat[inside], np.concatenate(widths)[inside], len(names)
        )
        return Trace(lasts, tuple(names), rows, table, source=f"a drawn radio, {self.radio.seed}")


def _frames(
    radio: Radio, count: int, dice: np.random.Generator
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.bool_]]:
    """Of each frame of the receiver: which one of the transmitter's it says, by number and by when
    the levers were asked for it, and whether it says anything."""
    chance = dice.random(count)
    repeated = chance < radio.repeated
    dropped = (chance >= radio.repeated) & (chance < radio.repeated + radio.dropped)
    repeated[0] = dropped[0] = False
    there = np.ones(count, bool)
    step = np.ones(count, np.int64)
    step[0] = 0
    if radio.repeats is Repeats.LATE:
        step[repeated] = 0
    if radio.drops is Drops.SKIPPED:
        step[dropped] = 2
    else:
        there[dropped] = False
    sent = np.cumsum(step)
    asked = np.maximum.accumulate(np.where(repeated, 0, np.arange(count)))
    if radio.repeats is Repeats.IN_PLACE:
        sent = sent[asked]
    return sent, asked, there
