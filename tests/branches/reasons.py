"""What no input can reach, each with the reason."""

from __future__ import annotations

REASONS: tuple[tuple[str, str, str], ...] = ()
"""A header, what stands in the line, and why."""


def reason_for(missed: str) -> str:
    """Why this is not reached; "" if it could be."""
    for header, text, why in REASONS:
        if missed.startswith(header) and text in missed:
            return why
    return ""
