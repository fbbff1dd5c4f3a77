"""Momentary: on while held."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from gen.behaviours.base import Answer, Loss
from gen.behaviours.switched import Switched, SwitchedKeys
from gen.read.keys import Located, key
from gen.read.kinds import POSITION

if TYPE_CHECKING:
    from gen.behaviours.base import FunctionKeys
    from gen.plan import Ask
    from gen.resolve.context import Context


@dataclass(frozen=True, kw_only=True)
class MomentaryKeys(SwitchedKeys):
    """On for as long as the position is held."""

    momentary: Located[str] = key(POSITION, "the position that holds it on", required=True)

    def resolve(self, to: Context) -> Momentary | None:
        shared = self.shared(self.momentary, to, at_rest=True)
        return Momentary(**shared) if shared is not None else None


@dataclass(frozen=True, kw_only=True)
class Momentary(Switched):
    """On for as long as its position is held, and not a tick longer."""

    key: ClassVar[str] = "momentary"
    written: ClassVar[type[FunctionKeys]] = MomentaryKeys

    @property
    def held_by(self) -> tuple[Ask | None, ...]:
        return None, self.ask if self.on_loss is Loss.OFF else None

    @property
    def answers(self) -> tuple[Answer, ...]:
        return (Answer(self.ask.control, self.ask.position, "on while held"),)
