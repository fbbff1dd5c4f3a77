"""What was found, how sure that is, why, and what would make it surer."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Sure(Enum):
    """How sure a finding is. Only what is SURE or LIKELY is written into a ship file."""

    SURE = "sure"
    LIKELY = "likely"
    NOT_SURE = "not sure"


@dataclass(frozen=True)
class Finding:
    """One thing that was found about one channel, slot or control, or about the receiver ("")."""

    about: str
    what: str
    sure: Sure
    evidence: str
    surer: str = ""

    def as_json(self) -> dict[str, str]:
        """For machines."""
        told = {"about": self.about, "what": self.what, "sure": self.sure.value}
        told["evidence"] = self.evidence
        return told | ({"surer": self.surer} if self.surer else {})

    def as_text(self) -> str:
        """For people, in two or three lines."""
        lines = [f"{self.about or 'receiver'}: {self.what} ({self.sure.value})"]
        lines.append(f"  because {self.evidence}")
        if self.surer:
            lines.append(f"  surer: {self.surer}")
        return "\n".join(lines)


WRONG_MOST = 1e-4
"""The chance of being wrong at which something still counts as sure. It is a matter of taste, not
of any radio."""
