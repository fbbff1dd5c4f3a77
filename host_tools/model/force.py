"""What the bench forces, as `logic/force.h` has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import NO_FORCE, forced_by
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from gen.plan import Plan

NOBODY = -1


class ForceState:
    """One function at a time, by its index, NOBODY if none is; `reading` is what the bench says,
    `barred` whether other functions or a low battery keep it from that."""

    def __init__(self, plan: Plan) -> None:
        self.most = [len(function.forces) for function in plan.functions]
        self.reading = NO_FORCE
        self.function = NOBODY
        self.state = 0
        self.begins = False
        self.barred = False

    def look(self) -> None:
        """One tick."""
        now = forced_by(self.reading)
        if now is None or now[0] >= len(self.most) or now[1] >= self.most[now[0]]:
            now = (NOBODY, 0)
        before = (self.function, self.state)
        if now[0] != self.function and self.state:
            now = (self.function, 0)
        self.begins = now != before
        self.function, self.state = now

    def fields(self) -> tuple[int, ...]:
        """What the digest holds of it."""
        return (
            bytes_as_word(self.function + 1, self.state),
            bytes_as_word(self.begins, self.barred),
        )
