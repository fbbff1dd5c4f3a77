"""What has been seen since the ship's last start: the last minute always, and more while it is
recorded."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from gen.plan import NO_FORCE, NO_POSITION, force_of
from host_tools.link.recording import Recording
from host_tools.link.told import TickLine
from host_tools.model.stepwise import ALIVE, LOST

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from gen.plan import Plan
    from host_tools.bench.source import Tick
    from host_tools.model.stepwise import Looks
    from host_tools.record import Record

MINUTE_TICKS = 12_000
LONGEST_TICKS = 720_000
"""An hour: a recording does not grow beyond it."""

CONTROL, VALUE, SIGNAL, SENSE, FUNCTION = "control", "value", "signal", "sense", "function"

MOST_EVENTS = 5_000
"""Of these a trial is written; nobody reads a longer one."""


@dataclass(frozen=True, slots=True)
class Event:
    """Something that a trial can say: a control's position or value, a channel's signal (ALIVE or
    LOST), a sensor's reading, a function's state."""

    k: int
    kind: str
    index: int
    value: int


class Entry(NamedTuple):
    """The news of one tick."""

    k: int
    line: TickLine
    events: tuple[Event, ...]


@dataclass
class Tape:
    """A stretch of what was seen, `first` is its first tick and `until` the one behind its last.
    `found` is what the ship found kept when it started, if it begins there."""

    first: int
    from_power_up: bool
    found: bytes
    recording: Recording
    events: list[Event] = field(default_factory=list)

    @property
    def ticks(self) -> int:
        """How long it is."""
        return self.recording.ticks

    def add(self, entry: Entry) -> None:
        """One tick more."""
        self.recording.add(entry.k, entry.line)
        self.events += entry.events[: MOST_EVENTS - len(self.events)]

    def record(self, plan: Plan, source: str) -> Record:
        """All of it: what was heard, and what was driven."""
        return self.recording.record(plan, source, self.found if self.from_power_up else b"")


class Seen:
    """Takes every tick of a ship."""

    def __init__(self, plan: Plan) -> None:
        self.tape: Tape | None = None
        self.is_recording = False
        self.is_full = False
        self._plan = plan
        self._until = self._first = self._began = 0
        self._start_anew(0, b"")

    @property
    def minute_ticks(self) -> int:
        """How much of the last minute there is."""
        return self._until - self._first

    def see(self, tick: Tick, found: bytes) -> Entry | None:
        """One tick; `found` is what the ship found kept at its last start, which ends a recording:
        what comes then is another story. Gives what is new in it."""
        if tick.up:
            self.is_recording = False
            self._start_anew(tick.k, found)
        entry = self._entry(tick)
        self._until = tick.k + 1
        if entry is not None:
            self._entries.append(entry)
        while self._entries and self._entries[0].k < self._until - MINUTE_TICKS:
            self._forget(self._entries.popleft())
        self._first = max(self._first, self._until - MINUTE_TICKS)
        if self.is_recording and self.tape is not None:
            if entry is not None:
                self.tape.add(entry)
            self.tape.recording.lasted(self._until)
            self.is_full = self.tape.ticks >= LONGEST_TICKS
            self.is_recording = not self.is_full
        return entry

    def record(self) -> None:
        """Begins a recording: where the ship started less than a minute ago, there."""
        from_power_up = self._first == self._began
        self.tape = self.minute() if from_power_up else self._tape(self._until, ())
        self.is_recording, self.is_full = True, False

    def stop(self) -> None:
        """Ends it; it stays until the next one begins."""
        self.is_recording = False

    def minute(self) -> Tape:
        """The last minute, or as much of it as there is since the ship's last start."""
        return self._tape(self._first, self._entries)

    def _start_anew(self, k: int, found: bytes) -> None:
        self._entries: deque[Entry] = deque()
        self._began = self._first = k
        self._found = found
        self._was: Looks | None = None
        self._stands = TickLine(0, 0)

    def _tape(self, first: int, entries: Iterable[Entry]) -> Tape:
        tape = Tape(first, first == self._began, self._found, Recording(first))
        if first > self._began:
            # What stood before its first tick is its beginning.
            stands = self._stands if first == self._first else self._now()
            tape.recording.add(first, stands)
        for entry in entries:
            tape.add(entry)
        tape.recording.lasted(self._until)
        return tape

    def _now(self) -> TickLine:
        return _line(self._was, None, (), ()) if self._was is not None else TickLine(0, 0)

    def _forget(self, entry: Entry) -> None:
        before, line = self._stands, entry.line
        self._stands = TickLine(
            0,
            0,
            (),
            {**before.readings, **line.readings},
            before.lines if line.lines is None else line.lines,
            {**before.servos_half_us, **line.servos_half_us},
            {**before.levels, **line.levels},
            before.force if line.force is None else line.force,
        )

    def _entry(self, tick: Tick) -> Entry | None:
        looks, was = tick.looks, self._was
        self._was = looks
        if looks == was and not tick.pulses and not tick.readings:
            return None
        line = _line(looks, was, tick.pulses, tick.readings)
        events = tuple(_events(self._plan, tick.k, looks, was)) if looks != was else ()
        return Entry(tick.k, line, events)


def _line(
    looks: Looks,
    was: Looks | None,
    pulses: Iterable[tuple[int, int]],
    readings: Iterable[tuple[int, int]],
) -> TickLine:
    """What is new, as a board would tell it."""

    def changed(now: tuple[int, ...], before: tuple[int, ...] | None) -> dict[int, int]:
        return {i: one for i, one in enumerate(now) if before is None or before[i] != one}

    felt = dict(readings) if was is not None else dict(enumerate(looks.readings))
    forced = force_of(*looks.force) if looks.force is not None else NO_FORCE
    return TickLine(
        0,
        0,
        tuple(pulses),
        felt,
        looks.lines if was is None or was.lines != looks.lines else None,
        changed(looks.servos_half_us, was and was.servos_half_us),
        changed(looks.levels, was and was.levels),
        forced if was is None or was.force != looks.force else None,
    )


def _events(plan: Plan, k: int, looks: Looks, was: Looks | None) -> Iterator[Event]:
    if was is None:
        return
    for index, (now, before) in enumerate(zip(looks.channels, was.channels, strict=True)):
        if now[0] != before[0] and now[0] in (ALIVE, LOST):
            yield Event(k, SIGNAL, index, now[0])
    for index, (now_at, was_at) in enumerate(zip(looks.controls, was.controls, strict=True)):
        if now_at[0] != was_at[0] and now_at[0] != NO_POSITION:
            yield Event(k, CONTROL, index, now_at[0])
        if plan.controls[index].proportional and now_at[1] != was_at[1]:
            yield Event(k, VALUE, index, now_at[1])
    for index, (now_is, was_so) in enumerate(zip(looks.readings, was.readings, strict=True)):
        if now_is != was_so:
            yield Event(k, SENSE, index, now_is)
    for index, (now_is, was_so) in enumerate(zip(looks.functions, was.functions, strict=True)):
        if now_is != was_so:
            yield Event(k, FUNCTION, index, now_is)
