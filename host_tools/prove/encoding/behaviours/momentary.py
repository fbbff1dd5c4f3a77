"""Momentary: on while held."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import Momentary
from host_tools.prove.encoding.function import SwitchedEncoding

if TYPE_CHECKING:
    from host_tools.prove.encoding.function import Seen
    from host_tools.prove.encoding.part import Memory


class MomentaryEncoding(SwitchedEncoding[Momentary]):
    """As `MomentaryModel`."""

    def asked(self, me: Memory, see: Seen) -> Any:
        del me
        return self.held(self.function.ask, see)
