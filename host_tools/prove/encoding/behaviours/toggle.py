"""Toggle: press on, press off."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Toggle
from host_tools.prove.encoding.function import SwitchedEncoding

if TYPE_CHECKING:
    from host_tools.prove.algebra import Truth
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class ToggleEncoding(SwitchedEncoding[Toggle]):
    """As `ToggleModel`."""

    def asked(self, me: Memory, see: Seen) -> Any:
        pressed = self.pressed(me, self.function.ask, see)
        return self.a.either(pressed, self.a.no(me.on), me.on)

    def recall(self, me: Memory, kept: bytes) -> None:
        me.on = kept == b"\x01"

    def recalled(self, me: Memory) -> Truth:
        return self.a.no(me.ready) if self.function.remember else False
