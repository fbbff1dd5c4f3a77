"""Outputs as a state names them: "relay 1", "lamp at 30 %", "nothing"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.read.keys import Scalar
from gen.read.sections import OneOrMore
from gen.units import PERCENT, Wrong, quantity

if TYPE_CHECKING:
    from decimal import Decimal

    from gen.read.keys import JsonSchema

NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Driven:
    """An output that is on, a dimmer at `percent` of its brightness; "" is nothing at all."""

    output: str
    percent: Decimal | None = None


class _OneDriven(Scalar[Driven]):
    words = f"an output, a dimmer and its brightness such as 'lamp at 30 %', or '{NOTHING}'"

    def parse(self, text: str) -> Driven:
        if text == NOTHING:
            return Driven("")
        output, at, share = text.rpartition(" at ")
        if not at or not re.match(r"[0-9]", share):
            return Driven(text)
        return Driven(output.strip(), percent(share))

    def schema(self) -> JsonSchema:
        return {"type": ["string", "number", "boolean"], "description": self.words}


def percent(text: str) -> Decimal:
    """A percentage from 0 to 100. Raises Wrong."""
    size, _ = quantity(text, PERCENT)
    if size > 100:
        raise Wrong("out-of-range", "is more than all", "0 % to 100 %")
    return size


DRIVEN = OneOrMore(_OneDriven())
