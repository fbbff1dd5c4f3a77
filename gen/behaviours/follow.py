"""Follow: a servo goes where a knob or stick points."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Cells, Function

if TYPE_CHECKING:
    from gen.plan import Plan


@dataclass(frozen=True, kw_only=True)
class Follow(Function):
    """The control's ends are mapped to the servo's range, and the servo moves at most
    `step_per_256` (1/256 half microseconds) each tick. `reverse` swaps the ends."""

    key: ClassVar[str] = "follow"

    control: int
    drives: int
    reverse: bool
    step_per_256: int

    @property
    def controls(self) -> tuple[int, ...]:
        return (self.control,)

    @property
    def servos(self) -> tuple[int, ...]:
        return (self.drives,)

    @property
    def states(self) -> tuple[str, ...]:
        return ("at rest", "away")

    @property
    def moves(self) -> bool:
        return True

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.controls[self.control].code,),
            limits=(
                "Turn::reverse" if self.reverse else "Turn::same",
                f"StepPer256{{{self.step_per_256}}}",
            ),
            drives=(plan.servos[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
        )
