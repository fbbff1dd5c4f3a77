"""Toggle: press on, press off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer
from gen.behaviours.remembering import KEPT_BYTES, REMEMBER, check_remember
from gen.behaviours.switched import Switched, SwitchedKeys
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, YesNo

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Plan
    from gen.resolve.context import Context


@dataclass(frozen=True, kw_only=True)
class ToggleKeys(SwitchedKeys):
    """Press on, press off. The control must come to rest between two presses."""

    toggle: Located[str] = key(
        POSITION, "the position that switches it on and off in turn", required=True
    )
    remember: Located[bool] = key(YesNo(), REMEMBER, default="no")

    def resolve(self, to: Context) -> Toggle | None:
        shared = self.shared(self.toggle, to)
        check_remember(self, self.remember, to)
        return Toggle(**shared, remember=self.remember.value) if shared is not None else None


@dataclass(frozen=True, kw_only=True)
class Toggle(Switched):
    """Changes its state at each press; the control must come to rest between two presses."""

    key: ClassVar[str] = "toggle"
    written: ClassVar[type[FunctionKeys]] = ToggleKeys

    remember: bool = False

    @property
    def kept_bytes(self) -> int:
        return KEPT_BYTES if self.remember else 0

    @property
    def answers(self) -> tuple[Answer, ...]:
        return (Answer(self.ask.control, self.ask.position, "on and off in turn"),)

    def limits_in_words(self, plan: Plan) -> str:
        del plan
        return "comes back after power-up as it was left" if self.remember else ""
