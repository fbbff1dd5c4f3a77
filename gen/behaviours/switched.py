"""What toggle, momentary and pulse share: one position asks, one line answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from gen.behaviours.base import Cells, DrivesKeys, Function, Loss
from gen.read.keys import Located, key
from gen.read.kinds import Words

if TYPE_CHECKING:
    from gen.plan import Ask, Plan
    from gen.resolve.context import Context


@dataclass(frozen=True, kw_only=True)
class SwitchedKeys(DrivesKeys):
    """The keys that toggle, momentary and pulse share."""

    on_loss: Located[str] = key(
        Words(*Loss), "what it does while the signal is lost", default="off"
    )

    def shared(
        self, position: Located[str], to: Context, *, at_rest: bool = False
    ) -> dict[str, Any] | None:
        """The fields of Switched; None after noting what is wrong. `at_rest`: whether `position`
        may be the one in which the control rests."""
        ask = to.ask(self, position, at_rest=at_rest)
        drives = to.line(self)
        if ask is None or drives is None:
            return None
        return {
            "name": self.name.value,
            "code": to.code(self),
            "on_loss": Loss(self.on_loss.value),
            "source_line": self.place.line,
            "ask": ask,
            "drives": drives,
        }


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

    def cells(self, plan: Plan) -> Cells:
        return Cells(
            asked_by=(plan.ask_code(self.ask),),
            limits=self.limits(),
            drives=(plan.lines[self.drives].code,),
            on_loss=(f"Loss::{self.on_loss}",),
            remark=self.limits_in_words(plan),
        )
