"""A ship at work on the simulated chip: thumbs that lead all functions through all that they do."""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from gen.load import load
from gen.plan import DigitalSensor
from gen.render import render
from gen.resources import resource
from gen.response import press_ticks
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import FAULT
from host_tools.firmware.pulses import lay_out
from host_tools.firmware.sensors import SensorPins, in_order
from host_tools.model import Model
from host_tools.model.stepwise import Stepwise
from host_tools.sensing import rest_reading
from host_tools.trace import Trace
from host_tools.transmitter import Transmitter
from tests.benchmarks.faults.ships import RECEIVERS, ship

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from gen.plan import Control
    from host_tools.firmware.chip import ChipRun
    from host_tools.firmware.pulses import Driven

STARTERS = resource("templates") / "ships"

TICKS = 1_200
"""A run lasts 6 s: every phase of every function comes in one or another of a few."""

BEGIN_TICKS = 60
CYCLES_A_TICK = 80_000

ANCHOR_HOME, MOTOR_CURRENT, BATTERY = "anchor home", "motor current", "battery"
STALL_COUNTS, FLOOD_COUNTS = 450, 600
"""2.2 V and 2.9 V at the motor's sensor: the anchor is held fast, the bilge is full."""


@dataclass(frozen=True, order=True)
class Move:
    """In a tick: a control is put, a sensor reads something, channels are lost or are back."""

    tick: int
    what: str
    which: tuple[int, ...]
    to: int = 0


class Scene:
    """One of the two ships, or a starter, compiled. `edit` replaces a text in one file of its
    sketch first."""

    def __init__(self, receiver: str, edit: tuple[str, str, str] | None = None) -> None:
        self.receiver = receiver
        loaded = ship(receiver) if receiver in RECEIVERS else load(STARTERS / f"{receiver}.yaml")
        self.plan, self.board = loaded.plan, loaded.board
        sketch = dict(render(self.plan, self.board))
        if edit is not None:
            name, old, new = edit
            if old not in sketch[name]:
                raise ValueError(f"{name} has no {old!r}")
            sketch[name] = sketch[name].replace(old, new)
        self.rung = FirmwareRung.of_sketch(self.plan, self.board, sketch)
        self._sensors = SensorPins(self.plan)
        self._changes: dict[int, list[int]] = {}
        self._calm: dict[str, NDArray[np.uint64]] = {}

    @cached_property
    def nothing(self) -> Trace:
        """A trace of no ticks with this ship's inputs and sensors."""
        names = tuple(one.name for one in self.plan.inputs)
        empty = Trace(0, names, np.zeros(0, np.int64), np.zeros((0, len(names)), np.uint16))
        return empty.with_readings(tuple(one.name for one in self.plan.sensors), [])

    def sensor(self, name: str) -> int:
        """The place of one of the three sensors."""
        names = [one.name for one in self.plan.sensors]
        return next(i for i, one in enumerate(names) if name in one)

    def function(self, name: str) -> int:
        """The place of a function."""
        return next(i for i, one in enumerate(self.plan.functions) if one.name == name)

    def moves(self, seed: int, ticks: int = TICKS) -> list[Move]:
        """Thumbs at work, and what the sensors feel meanwhile; the same for the same seed."""
        draw = random.Random(seed)
        moves: list[Move] = []
        for index, control in enumerate(self.plan.controls):
            moves += self._thumb(index, control, ticks, draw)
        home, current = self.sensor(ANCHOR_HOME), self.sensor(MOTOR_CURRENT)
        open_, closed = self._levels(home)
        at = draw.randrange(100, 500)
        while at < ticks:
            lasts = draw.choice((20, 150, 300))
            moves += [Move(at, "feel", (home,), closed), Move(at + lasts, "feel", (home,), open_)]
            at += lasts + draw.choice((150, 300, 600))
        at = draw.randrange(100, 400)
        while at < ticks:
            counts, lasts = draw.choice(
                ((STALL_COUNTS, 10), (STALL_COUNTS, 40), (FLOOD_COUNTS, 80))
            )
            moves += [Move(at, "feel", (current,), counts), Move(at + lasts, "feel", (current,), 0)]
            at += lasts + draw.choice((100, 250))
        return sorted(move for move in moves if move.tick < ticks)

    def _thumb(
        self, index: int, control: Control, ticks: int, draw: random.Random
    ) -> Iterable[Move]:
        """Longer presses and rests than it takes for them to be seen for sure, one frame of each or
        one round being spoilt."""
        shared = self.plan.channels[control.channel].sharing is not None
        least = press_ticks(self.plan, control) + (24 if shared else 8)
        others = [i for i in range(len(control.positions)) if i != control.rest]
        turn = draw.randrange(len(others))
        at = BEGIN_TICKS + draw.randrange(60)
        while at < ticks:
            yield Move(at, "put", (index,), others[turn % len(others)])
            turn += 1
            at += least + draw.choice((0, 0, 20, 80, 180))
            yield Move(at, "put", (index,), control.rest)
            at += least + draw.choice((0, 10, 40, 80))

    def _levels(self, sensor: int) -> tuple[int, int]:
        one = self.plan.sensors[sensor]
        if not isinstance(one, DigitalSensor):
            raise TypeError(f"{one.name} is no contact")
        return (1, 0) if one.active_low else (0, 1)

    def trace(self, moves: Iterable[Move], ticks: int = TICKS, source: str = "") -> Trace:
        """What the receiver puts out and the sensors read."""
        thumb = Transmitter(self.plan)
        for move in sorted(moves):
            if move.tick >= ticks:
                break
            thumb.run(move.tick - thumb.now)
            match move.what:
                case "put":
                    thumb.put(move.which[0], move.to)
                case "feel":
                    thumb.feel(move.which[0], move.to)
                case "lose":
                    thumb.lose(move.which)
                case _:
                    thumb.restore(move.which)
        thumb.run(ticks - thumb.now)
        return thumb.trace(source)

    def driven(self, trace: Trace, eeprom: bytes = b"") -> Driven:
        """The trace's pulses in time."""
        described = self.plan.sum_signal
        return lay_out(
            trace,
            self.rung.first_tick_with(eeprom),
            has_sum=described is not None,
            falls=described is not None and described.falling,
        )

    def events(self, trace: Trace, eeprom: bytes = b"") -> NDArray[np.void]:
        """The same, and its readings, as edges and voltages on pins."""
        felt = self._sensors.events(trace, self.rung.first_tick_with(eeprom))
        return in_order(self.driven(trace, eeprom).events(), felt)

    def run(
        self,
        events: NDArray[np.void],
        *,
        ticks: int = TICKS,
        eeprom: bytes = b"",
        heard: NDArray[np.void] | None = None,
        jumper: bool = False,
        faults: Sequence[tuple[int, int, int, int]] = (),
        torn: str = "half",
    ) -> ChipRun:
        """From power-up. `faults` are (cycle, kind, how, address)."""
        table = np.zeros(len(faults), FAULT)
        for row, (cycle, kind, how, address) in zip(table, sorted(faults), strict=True):
            row["cycle"], row["kind"], row["how"], row["address"] = cycle, kind, how, address
        return self.rung.run_events(
            events, ticks, eeprom, heard, jumper=jumper, faults=table, torn=torn
        )

    def at_tick(self, tick: int, eeprom: bytes = b"") -> int:
        """The cycle at which a tick samples, while nothing has been reset."""
        return self.rung.first_tick_with(eeprom) + tick * CYCLES_A_TICK

    def calm_lines(self, trace: Trace) -> NDArray[np.uint64]:
        """The lines that the model drives with a trace, tick by tick; a few are remembered."""
        if trace.source not in self._calm or not trace.source:
            self._calm[trace.source] = Model(self.plan).run(trace, digests=False).lines
        return self._calm[trace.source]

    def kept_changes(self, seed: int) -> list[int]:
        """The ticks in which, in a calm run, something changes that is kept."""
        if seed not in self._changes:
            ship = Stepwise(self.plan)
            before, changes = ship.kept, []
            for tick, (pulses, felt) in enumerate(self.trace(self.moves(seed)).tick_by_tick()):
                ship.tick(pulses, felt)
                if ship.kept != before:
                    changes.append(tick)
                before = ship.kept
            self._changes[seed] = changes
        return self._changes[seed]

    def good_battery(self) -> int:
        """What its sensor reads of a battery that is full."""
        return rest_reading(self.plan, self.sensor(BATTERY))
