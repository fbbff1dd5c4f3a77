"""What all sheets are made from."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from gen.resolve.outputs import with_lines_of_registers

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.boards import Board
    from gen.plan import Control, Plan
    from gen.read.steps import Trial
    from gen.ship import Ship
    from host_tools.electrical.electrics import Electrics


@dataclass(frozen=True)
class Facts:
    """One ship: as it was written, what it does, what it is tried with, and what the electrical
    sums found; None if nobody summed."""

    ship: Ship
    """With a line for each output of a shift register that is driven."""
    plan: Plan
    board: Board
    trials: tuple[Trial, ...]
    electrics: Electrics | None = None

    @cached_property
    def functions(self) -> tuple[Function, ...]:
        """The functions in the ship file's order."""
        return tuple(sorted(self.plan.functions, key=lambda one: (one.source_line, one.name)))

    @cached_property
    def controls(self) -> tuple[tuple[int, Control], ...]:
        """The controls in the ship file's order, each with its index."""
        numbered = enumerate(self.plan.controls)
        return tuple(sorted(numbered, key=lambda one: (one[1].source_line, one[1].name)))

    @classmethod
    def of(
        cls,
        ship: Ship,
        plan: Plan,
        board: Board,
        trials: tuple[Trial, ...],
        electrics: Electrics | None = None,
    ) -> Facts:
        """Those of a ship as it was read."""
        return cls(with_lines_of_registers(ship), plan, board, trials, electrics)

    def wires_at(self, part: str, point: str) -> str:
        """The numbers of the wires that end at a terminal: "W3, W12"."""
        if self.electrics is None:
            return ""
        at = (part, point)
        ends = ((one, (one.from_, one.to)) for one in self.electrics.wires)
        return ", ".join(
            wire.number for wire, both in ends if at in [(end.part, end.point) for end in both]
        )

    def fuse_of(self, load: str, supply: str = "") -> str:
        """The number of the fuse that a load is behind, the nearest one; "" if none. Without such a
        load, that of the supply."""
        if self.electrics is None:
            return ""
        branches = self.electrics.branches
        supplies = {one.name: one for one in branches if one.of != "load"}
        found = next((one for one in branches if one.of == "load" and one.name == load), None)
        found = found or supplies.get(supply)
        while found is not None and not found.fuse:
            found = supplies.get(found.parent)
        return found.fuse if found is not None else ""
