"""Every part of the ship gets its name in the sketch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.names import CodeNames, fold
from gen.read.keys import complain
from gen.units import Wrong

if TYPE_CHECKING:
    from gen.diagnostics import Problems
    from gen.read.keys import Located


class Codes:
    """Hands out the identifiers of one sketch, all in one namespace."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        self._names = CodeNames()

    def folded(self, name: Located[str], label: str, chosen: Located[str] | None = None) -> str:
        """The code that its owner chose, or the folded name; "x" after noting why it has none."""
        if chosen is not None:
            return chosen.value
        try:
            return fold(name.value)
        except Wrong as wrong:
            complain(self.problems, name.place, label, name.text, wrong)
            return ""

    def claim(self, code: str, name: Located[str], label: str) -> str:
        """Takes `code` for the part of this name; notes it if that is impossible."""
        try:
            if code:
                self._names.claim(code, f"{label} in line {name.place.line}")
        except Wrong as wrong:
            complain(self.problems, name.place, label, name.text, wrong)
        return code

    def take(
        self, name: Located[str], label: str, chosen: Located[str] | None, suffix: str = ""
    ) -> str:
        """Folds and claims. `suffix` is added unless its owner chose the code."""
        code = self.folded(name, label, chosen)
        return self.claim(code + suffix if code and chosen is None else code, name, label)
