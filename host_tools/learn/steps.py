"""What a person was doing while a trace was recorded: "still 0 s..6 s", "move davit key 6 s..12 s",
"off 50 s..60 s".

The steps stand in the trace's source, behind "steps:", so that a saved recording keeps them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import TICK_MS

if TYPE_CHECKING:
    from collections.abc import Iterable

STILL, MOVE, OFF = "still", "move", "off"

_TIME = r"([0-9]{1,7}(?:\.[0-9]{1,7})?)"
_STEP = re.compile(rf"(still|off|move +(\S.*?)) +{_TIME} *s *\.\. *{_TIME} *s")
BETWEEN = "; "
_BEHIND = "steps: "


@dataclass(frozen=True)
class Step:
    """From tick `begin` to before tick `end`: everything is left alone (STILL), the control `name`
    is moved and nothing else (MOVE), or the transmitter is off (OFF)."""

    what: str
    begin: int
    end: int
    name: str = ""

    @property
    def text(self) -> str:
        """As it is written."""
        words = f"{self.what} {self.name}".rstrip()
        return f"{words} {self.begin * TICK_MS / 1000:g} s..{self.end * TICK_MS / 1000:g} s"


def read_step(text: str) -> Step:
    """The step of this text. Raises ValueError if it is none."""
    found = _STEP.fullmatch(text.strip())
    if found is None:
        raise ValueError(f"{text!r} is no step")
    begin, end = (round(float(found[number]) * 1000 / TICK_MS) for number in (3, 4))
    if end <= begin:
        raise ValueError(f"{text!r} ends before it begins")
    return Step(found[1].split()[0], begin, end, found[2] or "")


def steps_in(source: str) -> tuple[Step, ...]:
    """The steps that a trace's source tells of."""
    _, found, told = source.partition(_BEHIND)
    return tuple(read_step(one) for one in told.split(BETWEEN)) if found else ()


def without_steps(source: str) -> str:
    """The same source without its steps."""
    return source.partition(_BEHIND)[0].rstrip(", ")


def with_steps(source: str, steps: Iterable[Step]) -> str:
    """The source of a trace that was recorded with these steps."""
    told = BETWEEN.join(step.text for step in steps)
    return f"{source}, {_BEHIND}{told}" if told else source
