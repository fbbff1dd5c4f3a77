"""What the link of a ship's sketch says, and the room that it takes."""

from __future__ import annotations

from string import ascii_lowercase
from typing import TYPE_CHECKING

from gen import __version__

if TYPE_CHECKING:
    from gen.plan import Plan

NOTES_LEAST_BYTES = 88
"""A tick with eight pulses and a few changes takes half of it, and is told within two ticks."""

NOTES_MOST_BYTES = 255
WORD_BYTES = 3
"""A pulse, a reading or a width in a note, with its head."""
TICK_BYTES, DIGEST_BYTES, FORCE_BYTES = 2, 5, 5


def notes_bytes(plan: Plan) -> int:
    """Room for what the link has still to tell: more than one tick in which everything changes and
    a pulse comes on every input, or that could never be told."""
    words = len(plan.inputs) + len(plan.sensors) + len(plan.servos) + len(plan.lights)
    lines = 1 + max(1, (len(plan.lines) + 7) // 8)
    force = FORCE_BYTES if plan.bench is not None else 0
    everything = TICK_BYTES + WORD_BYTES * words + lines + force + DIGEST_BYTES + 1
    return min(NOTES_MOST_BYTES, max(NOTES_LEAST_BYTES, everything))


def who(plan: Plan) -> list[str]:
    """What the board says of itself, as C++ texts with the characters of link/facts.h in them."""
    said = [] if plan.is_recorder else [_literal(f"who ship {plan.ship}")]
    said += [
        _literal(f"who plan {plan.plan_id}"),
        _literal(f"who board {plan.board}"),
        _literal(f"who maker {__version__}"),
        r'" who size flash=\x11 ram=\x12\n"',
        r'" who reset cause=\x19 power=\x13 brown-out=\x14 watchdog=\x15 external=\x16"',
        r'" asked=\x17\n"',
    ]
    said += [
        _literal(f"who input {letter} {one.pin}")
        for letter, one in zip(ascii_lowercase, plan.inputs, strict=False)
    ]
    if plan.kept_bytes:
        said.append(r'" who kept\x1B\n"')
    said.append(_literal("who bench none") if plan.bench is None else r'" who bench \x1C\n"')
    return said


def _literal(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'" {escaped}\\n"'
