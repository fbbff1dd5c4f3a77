"""What toggle, momentary and pulse share: one position asks, one line answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.behaviours.base import Cells, Function

if TYPE_CHECKING:
    from gen.plan import Ask, Plan


@dataclass(frozen=True, kw_only=True)
class Switched(Function):
    """`ask` is the position that is obeyed, `drives` an index into `Plan.lines`."""

    ask: Ask
    drives: int

    @property
    def controls(self) -> tuple[int, ...]:
        return (self.ask.control,)

    @property
    def lines(self) -> tuple[int, ...]:
        return (self.drives,)

    def limits(self) -> tuple[str, ...]:
        """The C++ expressions of this behaviour's own numbers."""
        return ()

    def remark(self) -> str:
        """The same numbers in a person's units."""
        return ""

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.ask_code(self.ask),),
            limits=self.limits(),
            drives=(plan.lines[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=self.remark(),
        )
