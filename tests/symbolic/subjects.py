"""Which subjects there are, and with which numbers each is proved."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.read.kinds import MOST_SLOTS
from gen.resolve.channels import PLACES_MOST

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

HEADERS = {
    "auto": "auto.h", "dimmer": "dimmer.h", "follow": "follow.h", "follow_more": "follow_more.h",
    "momentary": "momentary.h", "pulse": "pulse.h", "rhythm": "rhythm.h", "sequence": "sequence.h",
    "step": "step.h", "toggle": "toggle.h", "winch": "winch.h", "winch_more": "winch_more.h",
}  # fmt: skip
"""The behaviours' subjects, each with its header."""

PARTS = ("channel", "control", "force", "gate", "outputs", "sensor")
"""Those of what behaviours are made of, as `logic/` has it."""

LONG = {
    ("follow", "tick_curved"),
    ("follow", "tick_placed"),
    ("follow_more", "tick"),
    ("follow_more", "tick_follow"),
}
"""Ticks that take the solver more than ten seconds: products of unknowns. Proved in the complete
run."""

FRAMES_MOST = 3

SMALL: Mapping[str, int] = {
    "LEGS_MOST": 6,
    "POSITIONS_MOST": 5,
    "STATES_MOST": 6,
    "OUTPUTS_MOST": 4,
}
"""In the quick run tables are shorter: a loop costs as much as it has rounds."""


@dataclass(frozen=True)
class Case:
    """One subject, with what is defined for it and with limits that are other than the reader's."""

    subject: str
    defines: tuple[str, ...] = ()
    limits: Mapping[str, int] = field(default_factory=dict)


def quick() -> Iterator[Case]:
    """What is proved with every change."""
    for subject in (*HEADERS, *PARTS):
        yield Case(subject, limits=SMALL)
    for slots, frames in ((2, 1), (5, 2), (MOST_SLOTS, FRAMES_MOST), (PLACES_MOST, 1)):
        yield in_turn(slots, frames)


def complete() -> Iterator[Case]:
    """Everything, with the reader's own limits."""
    for subject in (*HEADERS, *PARTS):
        yield Case(subject)
    for slots in range(2, max(MOST_SLOTS, PLACES_MOST) + 1):
        for frames in range(1, FRAMES_MOST + 1):
            yield in_turn(slots, frames)


def in_turn(slots: int, frames: int) -> Case:
    """Shared channels and sum signals of so many places."""
    return Case("in_turn", (f"SO_MANY={slots}", f"SO_LONG={frames}"))
