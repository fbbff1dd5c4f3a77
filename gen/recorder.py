"""A recorder: a plan for a board that drives nothing and only tells what it hears, on every pin
that can listen. It is for learning a radio before there is a ship file."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from gen.plan import HALF_US_PER_US, TICK_MS, Channel, Plan

if TYPE_CHECKING:
    from gen.boards import Board

INPUTS_MOST = 16
"""The link has so many letters for them."""

CODE = "recorder"

VALID_HALF_US = (500 * HALF_US_PER_US, 2_500 * HALF_US_PER_US)
NO_BAND_BELOW, NO_BAND_ABOVE = 0, 0xFFFF
LOST_AFTER_TICKS = 300 // TICK_MS


def recorder(board: Board) -> Plan:
    """The recorder for a board. It has no ship: that is how it is known. A pin's channel is named
    after it; the pins stand in the order of their labels, digital ones first."""
    pins = [
        pin.name for pin in board.pins.values() if pin.change_group is not None and not pin.reserved
    ]
    channels = [
        Channel(
            name=pin,
            code=pin.lower(),
            pin=pin,
            valid_half_us=VALID_HALF_US,
            lost_below_half_us=NO_BAND_BELOW,
            lost_above_half_us=NO_BAND_ABOVE,
            lost_after_ticks=LOST_AFTER_TICKS,
            source_line=number,
        )
        for number, pin in enumerate(sorted(pins, key=_in_order)[:INPUTS_MOST])
    ]
    return Plan(
        ship="",
        code=CODE,
        board=board.name,
        channels=tuple(channels),
        controls=(),
        lines=(),
        pairs=(),
        servos=(),
        functions=(),
    )


def _in_order(label: str) -> tuple[bool, int]:
    """D2 before D10, and these before A0."""
    return label[0] != "D", int(re.sub(r"\D", "", label))
