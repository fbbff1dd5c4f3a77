"""What becomes of a function while it is forced, from what the board tells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import Follow
from gen.plan import forced_by
from host_tools.link.recording import Recording
from host_tools.link.stream import Stream
from host_tools.states import Doing, show_time

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.link.session import Event
    from host_tools.link.stream import Batch


class Watch:
    """Keeps what was told since the board's last start."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._stream = Stream(self._take, self._start_anew)
        self._recording = Recording()
        self._forces: list[tuple[int, int]] = []

    def hear(self, event: Event) -> None:
        """The session's listener."""
        self._stream.hear(event)

    def seen(self, function: int) -> list[str]:
        """What the function was under its force, each time that it changed: "1.205 s lowering"."""
        doing, first, last = self._forced(function)
        if doing is None:
            return []
        words: list[tuple[int, str]] = []
        for tick in range(first, last + 1):
            word = doing.word(self._plan.functions[function], tick)
            if not words or words[-1][1] != word:
                words.append((tick, word))
        return [f"{show_time(tick - first)} {word}" for tick, word in words]

    def reached(self, function: int, state: int) -> bool:
        """Whether it ever was what it was forced into."""
        doing, first, last = self._forced(function)
        if doing is None:
            return False
        forced = self._plan.functions[function]
        if isinstance(forced, Follow):
            low, _, high = forced.travel_half_us
            rest = self._plan.servos[forced.drives].rest_half_us
            looks = doing.near(forced.drives, (rest, low, high)[state])
        else:
            looks = doing.looks(forced, state)
        return bool(looks[first : last + 1].any())

    def lasted(self, function: int) -> int:
        """For how many ticks it was forced."""
        doing, first, last = self._forced(function)
        return last + 1 - first if doing is not None else 0

    def _forced(self, function: int) -> tuple[Doing | None, int, int]:
        """The record, and the first and last tick in which this function was forced."""
        self._stream.finish()
        record = self._recording.record(self._plan, "")
        first = last = -1
        for tick, code in self._forces:
            forced = forced_by(code)
            if forced is not None and forced[0] == function:
                first = tick if first < 0 else first
                last = record.ticks - 1
            elif first >= 0:
                last = tick - 1
                break
        return (Doing(self._plan, record) if first >= 0 else None), first, last

    def _start_anew(self) -> None:
        self._recording = Recording()
        self._forces = []

    def _take(self, batch: Batch) -> None:
        for tick, line in batch.lines:
            if not self._recording.ticks:
                self._recording.first = tick
            if tick - self._recording.first >= self._recording.ticks - 1:
                self._recording.add(tick, line)
                if line.force is not None:
                    self._forces.append((tick - self._recording.first, line.force))
