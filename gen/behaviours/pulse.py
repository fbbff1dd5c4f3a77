"""Pulse: on for a fixed time at each press."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from gen.behaviours.base import seconds
from gen.behaviours.switched import Switched


@dataclass(frozen=True, kw_only=True)
class Pulse(Switched):
    """On for `duration_ticks` from each press, however long it is held (IEC 61131-3 TP).

    A press while it is on is not counted.
    """

    key: ClassVar[str] = "pulse"

    duration_ticks: int

    def limits(self) -> tuple[str, ...]:
        return (f"OnTicks{{{self.duration_ticks}}}",)

    def remark(self) -> str:
        return f"for {seconds(self.duration_ticks)}"
