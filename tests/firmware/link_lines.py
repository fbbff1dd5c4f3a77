"""Lines of the link as bytes with their cycles, read and written independently of what ships."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from crccheck.crc import Crc16CcittFalse  # the catalogue's CRC-16/IBM-3740

from host_tools.firmware.chip import BYTE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

BYTE_CYCLES = 1389
"""At 115200 baud: 10 bits at 16 MHz."""


def line(number: int, words: str) -> bytes:
    """A good line."""
    text = f"{number % 256:02X} {words}".encode()
    return text + f" {Crc16CcittFalse.calc(text):04X}\n".encode()


def at(begin: int, data: bytes, spacing: int = BYTE_CYCLES) -> NDArray[np.void]:
    """Bytes one behind the other from the cycle `begin` on."""
    heard = np.zeros(len(data), BYTE)
    heard["cycle"] = begin + spacing * (1 + np.arange(len(data)))
    heard["value"] = np.frombuffer(data, np.uint8)
    return heard


def together(*parts: NDArray[np.void]) -> NDArray[np.void]:
    """All of them in the order of time."""
    whole = np.concatenate(parts)
    return whole[np.argsort(whole["cycle"], kind="stable")]


@dataclass
class Tick:
    """What the line of one tick told."""

    tick: int
    digest: int
    pulses: list[tuple[int, int]] = field(default_factory=list)
    readings: dict[int, int] = field(default_factory=dict)
    lines: int | None = None
    servos: dict[int, int] = field(default_factory=dict)
    levels: dict[int, int] = field(default_factory=dict)
    force: tuple[int, ...] | None = None
    """Function and state; empty is none."""


def words_of(said: NDArray[np.void]) -> list[str]:
    """What the whole lines said; each has a good CRC, and numbers follow on."""
    pieces = said["value"].tobytes().split(b"\n")[:-1]
    words = []
    for number, piece in enumerate(pieces):
        body, crc = piece[:-5], piece[-4:]
        assert piece[-5:-4] == b" ", piece
        assert f"{Crc16CcittFalse.calc(body):04X}".encode() == crc, piece
        assert body[:3] == f"{number % 256:02X} ".encode(), (number, piece)
        assert len(piece) <= 200
        words.append(body[3:].decode())
    return words


def ticks_of(words: Iterable[str]) -> list[Tick]:
    """The ticks among them."""
    return [_tick(one) for one in words if one.startswith("t ")]


def tallies_of(words: Iterable[str]) -> list[dict[str, int]]:
    """The tallies among them."""
    return [
        {key: int(value) for key, value in (pair.split("=") for pair in one.split()[1:])}
        for one in words
        if one.startswith("n ")
    ]


def _tick(words: str) -> Tick:
    _, number, *tokens, digest = words.split(" ")
    assert re.fullmatch("[0-9A-F]{4}", number)
    assert re.fullmatch("z[0-9A-F]{8}", digest)
    told = Tick(int(number, 16), int(digest[1:], 16))
    for token in tokens:
        kind, rest = token[0], token[1:]
        if kind in "abcdefghijklmnop":
            told.pulses.append((ord(kind) - ord("a"), _half_us(rest)))
        elif kind.isupper():
            told.readings[ord(kind) - ord("A")] = int(rest)
        elif kind == "x":
            told.lines = int(rest, 16)
        elif kind == "s":
            index, width = rest.split(":")
            told.servos[int(index)] = _half_us(width)
        elif kind == "w":
            told.force = () if rest == "-" else tuple(int(one) for one in rest.split(":"))
        else:
            assert kind == "u"
            index, duty = rest.split(":")
            told.levels[int(index)] = int(duty)
    return told


def _half_us(text: str) -> int:
    assert re.fullmatch(r"\d{1,5}(\.5)?", text), text
    return round(2 * float(text))
