"""Recording for as long as a board tells: a part for each of its starts."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from host_tools.link.recording import Names, Recording
from host_tools.link.stream import Stream

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.link.identity import Identity
    from host_tools.link.stream import Batch


MOST_TICKS = 1 << 24
"""Of one part, 23 hours: the next one begins another, whatever a board says of its clock."""


@dataclass
class Part:
    """What was told from one start of the board, or from when we began to listen, to the next.
    `dropped` counts stretches of a second in which lines were lost."""

    recording: Recording = field(default_factory=Recording)
    begun: bool = False
    from_power_up: bool = False
    dropped: int = 0


class Recorder:
    """Takes what a session hears; `stream.dropped_here` counts what was dropped on this side."""

    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.part = Part()
        self.stream = Stream(self._take, self._start_anew)

    @property
    def dropped(self) -> int:
        """Stretches with lost lines, of all parts."""
        return sum(part.dropped for part in self.parts)

    def finish(self) -> list[Part]:
        """No more comes: every part in which anything was told."""
        self.stream.finish()
        self._start_anew()
        return self.parts

    def _start_anew(self) -> None:
        if self.part.begun:
            self.parts.append(self.part)
        self.part = Part()

    def _take(self, batch: Batch) -> None:
        part = self.part
        part.dropped += not batch.whole
        for tick, line in batch.lines:
            if part.begun and tick - part.recording.first >= MOST_TICKS:
                self._start_anew()
                part = self.part
            if not part.begun:
                part.begun = True
                part.from_power_up = tick == 0
                part.recording.first = tick
            if tick - part.recording.first >= part.recording.ticks - 1:
                part.recording.add(tick, line)
        if part.begun:
            part.recording.lasted(min(batch.until, part.recording.first + MOST_TICKS))


def names_for(identity: Identity, plan: Plan | None) -> Names:
    """What the columns are called: as in the ship file or, without one, as on the board. A recorder
    hears more pins than a ship uses: those that the ship has names for are kept."""
    if plan is None:
        return Names(identity.inputs, (), identity.ship, identity.plan_id if identity.ship else "")
    if not identity.is_recorder:
        return Names.of(plan)
    by_pin = {one.pin: one.name for one in plan.inputs}
    return Names(tuple(by_pin.get(pin, "") for pin in identity.inputs), (), plan.ship)
