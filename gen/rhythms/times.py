"""Patterns written as their times.

As electronic charts write them (IHO S-57, attribute SIGSEQ): `00.8+(02.2)+00.8+(05.2)`, seconds of
light and, in brackets, of darkness. In plain words: `on 0.5 s, off 4.5 s`.
"""

from __future__ import annotations

import re

from gen.rhythms.pattern import Span
from gen.units import TIME, Wrong, quantity

SEQUENCE = re.compile(
    r"(\([0-9]{2}\.[0-9]\)|[0-9]{2}\.[0-9])(\+(\([0-9]{2}\.[0-9]\)|[0-9]{2}\.[0-9]))*"
)
"""Two digits, a point and one digit for each time, as the standard has it."""

EXAMPLE = "on 0.5 s, off 4.5 s"


def sequence(text: str) -> list[Span]:
    """The stretches of a text that SEQUENCE matches."""
    return [
        Span(not part.startswith("("), int(part.strip("()").replace(".", "")) * 100_000)
        for part in text.split("+")
    ]


def listed(text: str) -> list[Span]:
    """The stretches of a list of times in words. Raises Wrong."""
    spans: list[Span] = []
    for part in text.split(","):
        word, _, time = part.strip().partition(" ")
        if word not in ("on", "off"):
            raise Wrong("unknown-rhythm", "has neither on nor off before a time", EXAMPLE)
        if spans and spans[-1].on == (word == "on"):
            raise Wrong("rhythm-rule", f"is {word} twice in a row", "on and off in turn")
        size_us, _ = quantity(time.strip(), TIME)
        spans.append(Span(word == "on", int(size_us)))
    return spans
