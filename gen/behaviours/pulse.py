"""Pulse: on for a fixed time at each press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, seconds
from gen.behaviours.switched import Switched, SwitchedKeys
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, Duration

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Plan
    from gen.resolve.context import Context


@dataclass(frozen=True, kw_only=True)
class PulseKeys(SwitchedKeys):
    """On for a fixed time from each press, however long it is held. A press while it is on does
    not count."""

    pulse: Located[str] = key(POSITION, "the position that starts it", required=True)
    for_: Located[int] = key(Duration("2 s"), "how long it is on", required=True)

    def resolve(self, to: Context) -> Pulse | None:
        shared = self.shared(self.pulse, to)
        if shared is None:
            return None
        return Pulse(**shared, duration_ticks=self.for_.value)


@dataclass(frozen=True, kw_only=True)
class Pulse(Switched):
    """On for `duration_ticks` from each press, however long it is held (IEC 61131-3 TP).

    A press while it is on is not counted.
    """

    key: ClassVar[str] = "pulse"
    written: ClassVar[type[FunctionKeys]] = PulseKeys

    duration_ticks: int

    @property
    def longest_run_ticks(self) -> int:
        return self.duration_ticks

    def limits(self) -> tuple[str, ...]:
        return (f"OnTicks{{{self.duration_ticks}}}",)

    @property
    def answers(self) -> tuple[Answer, ...]:
        does = f"on for {seconds(self.duration_ticks)}"
        return (Answer(self.ask.control, self.ask.position, does),)

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        return f"for {seconds(self.duration_ticks)}"
