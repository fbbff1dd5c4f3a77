"""Toggle: press on, press off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.switched import Switched, SwitchedKeys
from gen.diagnostics import show
from gen.read.keys import Located, key
from gen.read.kinds import POSITION, YesNo

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.resolve.context import Context


MOVES = ("motor", "solenoid")
"""Loads that nobody wants to see start by themselves when the battery is put in."""


@dataclass(frozen=True, kw_only=True)
class ToggleKeys(SwitchedKeys):
    """Press on, press off. The control must come to rest between two presses."""

    toggle: Located[str] = key(
        POSITION, "the position that switches it on and off in turn", required=True
    )

    remember: Located[bool] = key(
        YesNo(), "whether it comes back after power-up as it was left", default="no"
    )

    def resolve(self, to: Context) -> Toggle | None:
        shared = self.shared(self.toggle, to)
        kind = self.load.kind if self.load is not None else None
        if self.remember.value and kind is not None and kind.value in MOVES:
            to.problem(
                "remember-moves",
                self.remember.place,
                f"function {show(self.name.value)}: what moves does not start by itself",
                got=f"a {kind.value}",
            )
            return None
        return Toggle(**shared, remember=self.remember.value) if shared is not None else None


@dataclass(frozen=True, kw_only=True)
class Toggle(Switched):
    """Changes its state at each press; the control must come to rest between two presses."""

    key: ClassVar[str] = "toggle"
    written: ClassVar[type[FunctionKeys]] = ToggleKeys

    remember: bool = False

    @property
    def kept_bytes(self) -> int:
        return 1 if self.remember else 0

    def remark(self) -> str:
        return "comes back after power-up as it was left" if self.remember else ""
