"""What outlives the power, as the sketch's keeper writes it (board/keeper.h)."""

from __future__ import annotations

import binascii
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gen.boards import Board
    from gen.plan import Plan

ERASED = 0xFF

CHANGES_A_DAY = 500
"""What `wear` reckons with: a ship that is played with all day (an assumption, no source)."""

ENDURANCE = 100_000
"""Writes that a cell of the EEPROM bears (ATmega328P datasheet, Features)."""

MOST_PLACES = 255


def places(plan: Plan, board: Board) -> int:
    """How many records fit: each cell is written once in so many of them."""
    return min(board.eeprom_bytes // plan.kept_record_bytes, MOST_PLACES)


def record(plan: Plan, kept: bytes, number: int) -> bytes:
    """The bytes, the running number and their CRC (CRC-16/XMODEM's polynomial, begun with the
    plan's mark)."""
    body = kept + number.to_bytes(2, "little")
    return body + binascii.crc_hqx(body, plan.mark).to_bytes(2, "little")


def eeprom_with(plan: Plan, board: Board, kept: bytes) -> bytes:
    """An EEPROM in which `kept` is the only record; erased if it is empty."""
    image = bytes([ERASED]) * board.eeprom_bytes
    if not plan.kept_bytes or len(kept) != plan.kept_bytes:
        return image
    first = record(plan, kept, 1)
    return first + image[len(first) :]


def recalled(plan: Plan, board: Board, eeprom: bytes) -> bytes:
    """What a board finds in its EEPROM at power-up; empty if nothing."""
    best: tuple[int, bytes] | None = None
    size = plan.kept_record_bytes
    for place in range(places(plan, board)) if plan.kept_bytes else ():
        seen = eeprom[place * size : (place + 1) * size]
        kept, number = seen[: plan.kept_bytes], int.from_bytes(seen[-4:-2], "little")
        newer = best is None or 0 < (number - best[0]) % 0x10000 < 0x8000
        if seen == record(plan, kept, number) and newer:
            best = number, kept
    return best[1] if best is not None else b""


def wear(plan: Plan, board: Board) -> str:
    """How long the EEPROM lasts, in a sentence."""
    number = places(plan, board)
    a_year = -(-CHANGES_A_DAY * 365 // number)
    return (
        f"keeps {plan.kept_bytes} bytes over power-off in {number} places taken in turn: with "
        f"{CHANGES_A_DAY} changes a day each cell is written {a_year:,} times a year and bears "
        f"{ENDURANCE:,}, {ENDURANCE // a_year} years"
    )
