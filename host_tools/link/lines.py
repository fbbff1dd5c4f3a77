"""One line of the link: `SS words CCCC`, and how a receiver finds its way back after damage.

SS numbers the lines of one direction in two hexadecimal digits and wraps; CCCC is the
CRC-16/IBM-3740 (polynomial 1021, begun with FFFF) of everything before the space in front of it. A
line that fails is counted and dropped whole. So is one whose number is not the next one, but the
line after that is good again if it follows on: damage costs at most one line more than it hit.
"""

from __future__ import annotations

import binascii
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_FROM_BOARD = 200
MOST_TO_BOARD = 63
"""How long a line may be, without its end: the board has little room to collect one in."""

NUMBERS = 256
AROUND_WORDS = 8
"""What the number, the CRC and the spaces beside them take of a line."""

_END = b"\n"
_HEX = frozenset(b"0123456789ABCDEF")


def crc_of(data: bytes) -> int:
    """CRC-16/IBM-3740; of b"123456789" it is 29B1."""
    return binascii.crc_hqx(data, 0xFFFF)


def line_of(number: int, words: str) -> bytes:
    """A whole line with its end. Raises ValueError when `words` cannot stand in one."""
    text = f"{number % NUMBERS:02X} {words}"
    if not words.isprintable() or not words or words != " ".join(words.split()):
        raise ValueError(f"{words!r} cannot stand in a line")
    data = text.encode()
    return data + f" {crc_of(data):04X}\n".encode()


class Line(NamedTuple):
    """A line whose form and CRC are good."""

    number: int
    words: str


def parsed(raw: bytes, most: int) -> Line | None:
    """A line without its end, or None if anything about it is wrong."""
    if not AROUND_WORDS < len(raw) <= most or raw[2:3] != b" " or raw[-5:-4] != b" ":
        return None
    number, crc, body = raw[:2], raw[-4:], raw[:-5]
    if not _HEX.issuperset(number) or not _HEX.issuperset(crc) or int(crc, 16) != crc_of(body):
        return None
    try:
        words = body[3:].decode()
    except UnicodeDecodeError:
        return None
    return Line(int(number, 16), words) if words.isprintable() else None


@dataclass
class Counts:
    """What a receiver had to drop: lines that `failed` (form, length or CRC) and good ones that
    came out of their `order`."""

    failed: int = 0
    order: int = 0

    @property
    def all(self) -> int:
        """Every line that was dropped."""
        return self.failed + self.order


class Receiver:
    """Any bytes -> the lines that may be obeyed. Remembers at most one line's length of them."""

    def __init__(self, most: int = MOST_FROM_BOARD) -> None:
        self.counts = Counts()
        self._last: int | None = None
        self._most = most
        self._begun = b""
        self._too_long = False

    def feed(self, data: bytes) -> Iterator[Line]:
        """The lines that end within `data` and may be obeyed, in order."""
        return (line for line, in_order in self.judged(data) if in_order)

    def judged(self, data: bytes) -> Iterator[tuple[Line, bool]]:
        """Every line that ends within `data` whose CRC is good, and whether it may be obeyed: a
        board answers those that may not, too."""
        *ended, begun = data.split(_END)
        for piece in ended:
            line = self._whole(piece)
            if line is not None:
                yield line, self._is_next(line)
        self._begin(begun)

    def start_anew(self) -> None:
        """The other side begins again: whatever number its next line has is the first one."""
        self._last = None

    def _is_next(self, line: Line) -> bool:
        is_next = self._last is None or line.number == (self._last + 1) % NUMBERS
        self._last = line.number
        self.counts.order += not is_next
        return is_next

    def _begin(self, piece: bytes) -> None:
        self._begun += piece
        if len(self._begun) > self._most + 1:  # one more for a carriage return
            self._too_long = True
            self._begun = b""

    def _whole(self, piece: bytes) -> Line | None:
        raw = (self._begun + piece).removesuffix(b"\r")
        too_long, self._too_long, self._begun = self._too_long, False, b""
        if not raw and not too_long:
            return None  # an empty line says nothing, and is nothing lost
        line = None if too_long else parsed(raw, self._most)
        self.counts.failed += line is None
        return line


class Writer:
    """Numbers the lines of one direction."""

    def __init__(self, most: int = MOST_TO_BOARD) -> None:
        self.next = 0
        self._most = most

    def line(self, words: str) -> bytes:
        """The next line. Raises ValueError when it is too long or cannot be written."""
        line = line_of(self.next, words)
        if len(line) - 1 > self._most:
            raise ValueError(f"{words!r} is too long for a line of {self._most} characters")
        self.next = (self.next + 1) % NUMBERS
        return line
