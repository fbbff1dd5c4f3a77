"""Mutants that no test can notice, each with the reason: they do in everything what the sound text
does."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.mutants.changes import Mutant

EQUAL: tuple[tuple[str, str, str, str], ...] = (
    (
        "behaviours/rhythm.h",
        "bool on = false;",
        "false -> true",
        "the first tick says what it is before anybody looks",
    ),
    (
        "logic/function.h",
        "constexpr Forced what() const { return { 0, false }; }",
        "",
        "of a force that does not exist; nobody looks",
    ),
    (
        "host_tools/model/sensors.py",
        "self.level = 0",
        "0 -> 1",
        "the first reading is where it begins",
    ),
)
"""File, what stands in the line, the change, and why."""


def why(mutant: Mutant) -> str:
    """Why it is equal; "" if it is not."""
    change = f"{mutant.sound.strip()} -> {mutant.faulty.strip()}"
    for file, context, changed, reason in EQUAL:
        if file == mutant.file and context in mutant.context and changed in (change, ""):
            return reason
    return ""
