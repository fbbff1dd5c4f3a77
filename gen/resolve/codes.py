"""Every part of the ship gets its name in the sketch."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.names import CodeNames, fold
from gen.read.keys import complain
from gen.reserved import DEVICES
from gen.units import Wrong

if TYPE_CHECKING:
    from gen.diagnostics import Problems
    from gen.read.keys import Located


WHOLE = {
    "name-not-latin": "add 'code name: ' with a word in Latin letters; the name itself may stay",
    "reserved-name": "rename it, or add 'code name: ' with another word",
    "same-code": "rename it, or add 'code name: ' with another word",
}
PART = dict.fromkeys(WHOLE, "rename it: a position or a way has no code name of its own")
"""What helps, by the code of the message."""


class Codes:
    """Hands out the identifiers of one sketch, all in one namespace. Each method gives "" or an
    identifier that is not free after noting what is wrong."""

    def __init__(self, problems: Problems) -> None:
        self.problems = problems
        self._names = CodeNames()

    def whole(
        self,
        name: Located[str],
        label: str,
        chosen: Located[str] | None,
        *,
        suffix: str = "",
        also: str = "",
    ) -> str:
        """The code of a channel, control, output or function: as its owner chose it, or the folded
        name and `suffix`. `also`: what the sketch appends for a second thing that it needs of it.
        """
        owner = f"{label} in line {name.place.line}"
        try:
            code = chosen.value if chosen is not None else fold(name.value) + suffix
            self._names.claim(code, owner)
            if also:
                self._names.claim(f"{code}{also}", owner)
        except Wrong as wrong:
            return self._noted(name, label, wrong, WHOLE)
        return code

    def part(self, of: str, name: Located[str], label: str) -> str:
        """The code of a position or a way, which in the sketch follows the code `of` the whole."""
        try:
            code = fold(name.value)
            if of:
                self._names.claim(f"{of}_{code}", f"{label} in line {name.place.line}")
        except Wrong as wrong:
            return self._noted(name, label, wrong, PART)
        return code

    def folder(self, name: Located[str], chosen: Located[str] | None) -> str:
        """The name of the sketch's folder and main file, for which no other part competes."""
        try:
            code = chosen.value if chosen is not None else fold(name.value)
            if code in DEVICES:
                raise Wrong("reserved-name", f"would be {code}, a device on Windows")
        except Wrong as wrong:
            return self._noted(name, "ship", wrong, WHOLE)
        return code

    def _noted(self, name: Located[str], label: str, wrong: Wrong, hints: dict[str, str]) -> str:
        wrong.hint = hints[wrong.code]
        complain(self.problems, name.place, label, name.text, wrong)
        return ""
