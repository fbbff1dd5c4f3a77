"""What all sheets are made from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.boards import Board
    from gen.plan import Control, Plan
    from gen.read.steps import Trial
    from gen.ship import Ship


@dataclass(frozen=True)
class Facts:
    """One ship: as it was written, what it does, what it is tried with."""

    ship: Ship
    plan: Plan
    board: Board
    trials: tuple[Trial, ...]

    @cached_property
    def functions(self) -> tuple[Function, ...]:
        """The functions in the ship file's order."""
        return tuple(sorted(self.plan.functions, key=lambda one: (one.source_line, one.name)))

    @cached_property
    def controls(self) -> tuple[tuple[int, Control], ...]:
        """The controls in the ship file's order, each with its index."""
        numbered = enumerate(self.plan.controls)
        return tuple(sorted(numbered, key=lambda one: (one[1].source_line, one[1].name)))
