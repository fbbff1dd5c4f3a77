"""What is unsafe or unwise, gathered while sums are made."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.codes import CODES
from host_tools.electrical.electrics import Finding

if TYPE_CHECKING:
    from gen.diagnostics import Place


@dataclass
class Findings:
    """Each is told once, in the order of places in the ship file."""

    found: list[Finding] = field(default_factory=list)

    def unsafe(
        self, code: str, place: Place, what: str, *, got: str, expected: str, clause: str
    ) -> None:
        """An error: somebody or something would come to harm."""
        self._add(Finding(code, True, what, got, expected, place, clause))

    def unwise(
        self, code: str, place: Place, what: str, *, got: str, expected: str, clause: str
    ) -> None:
        """A warning: it works, and not as well or as long as one would think."""
        self._add(Finding(code, False, what, got, expected, place, clause))

    def _add(self, finding: Finding) -> None:
        if finding.code not in CODES:
            raise KeyError(f"the code {finding.code!r} is missing from gen/codes.py")
        self.found.append(finding)

    def ordered(self) -> tuple[Finding, ...]:
        """All of them, by place."""
        every = dict.fromkeys(self.found)
        return tuple(sorted(every, key=lambda one: (one.place, one.code, one.what)))
