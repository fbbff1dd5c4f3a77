"""Damaged lines, each way: how many are taken for good, and how soon the receiver is back.

A damaged line stands between good ones. What a receiver takes of it at all counts as taken. A
damaged line whose end is lost takes the next one with it; behind what was hit one good line may be
lost, for it is not the next one by its number; the one after that must be taken.

Up to three flipped bits, and any burst of up to 16, this CRC always finds in lines of this length
(polynomial 1021 has a Hamming distance of 4 up to 32751 bits: from memory). Where bytes are lost,
so that the head of one line stands before the tail of another, it misses one in 65536 by chance:
that is all that 16 bits can do. Nothing can be forced by one such line: it takes two.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

from host_tools.link.lines import MOST_FROM_BOARD, MOST_TO_BOARD, Receiver, line_of
from host_tools.link.told import TickLine, tick_words
from tests.benchmarks.table import Row, at_most

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

LINES = 1_000_000
SHORT_SHARE = 20


@dataclass
class Damage:
    """What came of so many damaged lines: how many were taken, by the kind of the damage, and the
    most good lines behind what one had hit until the receiver was back."""

    lines: int = 0
    lost_most: int = 0
    taken: dict[str, int] = field(default_factory=dict)

    @property
    def taken_of_sure(self) -> int:
        """Those among kinds of damage that a CRC always finds."""
        return sum(self.taken.get(kind.__name__, 0) for kind in SURE)

    @property
    def taken_by_chance(self) -> int:
        """The others."""
        return sum(self.taken.values()) - self.taken_of_sure


def bits(line: bytes, draw: random.Random) -> bytes:
    """One to three bits flipped anywhere, the end of the line included."""
    data = bytearray(line)
    for place in draw.sample(range(8 * len(data)), draw.randint(1, 3)):
        data[place // 8] ^= 1 << place % 8
    return bytes(data)


def burst(line: bytes, draw: random.Random) -> bytes:
    """Up to 16 bits in a row of which the first and the last are flipped, others as it comes."""
    width = draw.randint(2, 16)
    first = draw.randrange(8 * len(line) - width)
    pattern = 1 | 1 << (width - 1) | draw.getrandbits(width)
    return (int.from_bytes(line, "little") ^ pattern << first).to_bytes(len(line), "little")


def cut(line: bytes, draw: random.Random) -> bytes:
    """Some bytes missing; the end may be among them, which joins it to the next line."""
    first = draw.randrange(len(line))
    return line[:first] + line[first + draw.randint(1, len(line) - first) :]


def joined(line: bytes, draw: random.Random) -> bytes:
    """Its head, and the tail of another line."""
    other = line_of(draw.randrange(256), _words(draw))
    return line[: draw.randrange(3, len(line))] + other[draw.randrange(3, len(other)) :]


def garbage(line: bytes, draw: random.Random) -> bytes:
    """Anything."""
    return draw.randbytes(draw.randrange(1, 2 * len(line)))


def out_of_turn(line: bytes, draw: random.Random) -> bytes:
    """A good line with a number that is not the next one."""
    number = (int(line[:2], 16) + draw.randrange(1, 256)) % 256
    return line_of(number, line[3:-6].decode())


Kind: TypeAlias = "Callable[[bytes, random.Random], bytes]"
SURE: tuple[Kind, ...] = (bits, burst, out_of_turn)
KINDS: tuple[Kind, ...] = (*SURE, cut, joined, garbage)


def from_board(lines: int, seed: int) -> Damage:
    """Damage to what a board tells."""
    return _damage(lines, seed, MOST_FROM_BOARD, _words)


def to_board(lines: int, seed: int) -> Damage:
    """Damage to what a board is told."""
    return _damage(lines, seed, MOST_TO_BOARD, _orders)


def _damage(lines: int, seed: int, most: int, words: Callable[[random.Random], str]) -> Damage:
    draw = random.Random(seed)
    receiver = Receiver(most)
    found = Damage(lines)
    number = 0
    list(receiver.feed(line_of(number, words(draw))))
    for count in range(lines):
        number += 1
        line = line_of(number, words(draw))
        kind = KINDS[count % len(KINDS)]
        spoilt = kind(line, draw)
        if spoilt == line:
            continue
        taken = [one.words for one in receiver.feed(spoilt)]
        behind = 0 if spoilt.endswith(b"\n") else -1  # the next one is joined to it
        for _ in range(4):
            number += 1
            good = line_of(number, words(draw))
            heard = [one.words for one in receiver.feed(good)]
            if heard and heard[-1] == good[3:-6].decode():
                taken += heard[:-1]
                break
            taken += heard
            behind += 1
        found.lost_most = max(found.lost_most, behind)
        if taken:
            found.taken[kind.__name__] = found.taken.get(kind.__name__, 0) + len(taken)
    return found


def _words(draw: random.Random) -> str:
    pulses = tuple(
        (draw.randrange(8), draw.randrange(1_600, 4_400)) for _ in range(draw.choice((1, 1, 2, 8)))
    )
    lines = draw.randrange(1 << 24) if draw.random() < 0.2 else None
    return tick_words(
        TickLine(draw.randrange(0x10000), draw.getrandbits(32), pulses, lines=lines), 3
    )


def _orders(draw: random.Random) -> str:
    return draw.choice(
        (
            "here",
            "arm 3",
            "force 3 1",
            "free",
            "bench on",
            "restart",
            f"p a{draw.randrange(800, 2200)}",
        )
    )


def rows(*, long_run: bool, seed: int = 1) -> Iterator[Row]:
    """Both ways."""
    lines = LINES if long_run else LINES // SHORT_SHARE
    by_chance = 2 * lines // len(KINDS) * (len(KINDS) - len(SURE)) // 65536 + 2
    for way, damaged in (("from the board", from_board), ("to the board", to_board)):
        found = damaged(lines, seed)
        what = f"{lines:,} damaged lines"
        yield at_most(f"{what}: taken, of flips, bursts, order", way, found.taken_of_sure, 0, "")
        yield at_most(f"{what}: taken, bytes lost", way, found.taken_by_chance, by_chance, "")
        yield at_most("good lines lost behind one", way, found.lost_most, 1, "")
