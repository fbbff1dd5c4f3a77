"""Damage of every kind that bytes and lines can take."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random
    from collections.abc import Sequence

BYTES = (
    *(
        b"",
        b"\x00",
        b"\n",
        b"\r",
        b"\r\n",
        b"\t",
        b" ",
        b"\xff",
        b"\xc3",
        b"\xed\xa0\x80",
        b"\x1b[2J",
    ),
    *(b"\xef\xbb\xbf", b"\xe2\x80\xae", b"\xc2\x85", b"\xe2\x80\xa8", b"\xf0\x9f\x9a\xa2"),
    *(
        b"#",
        b":",
        b"- ",
        b"? ",
        b"[",
        b"]",
        b"{",
        b"}",
        b"&a",
        b"*a",
        b"!!python/object:os.system ",
    ),
    *(b"'", b'"', b"|", b">", b"%", b"@", b"`", b"---\n", b"...\n", b"\\", b"..", b"0", b"-1"),
    *(b"9" * 30, b"1e999", b"nan", b"0x10", b"4294967296", b"A" * 300, b"[" * 40, b"{a: " * 30),
)
NUMBERS = ("0", "-0", "1", "0.5", "255", "256", "65535", "65536", "4294967296", "99999999999999999999",
           "1e9", "-1", "+1", "1,5", "٣", "½", "0.000000001", "999999999.999999999")  # fmt: skip
_NUMBER = re.compile(rb"[0-9]+(?:\.[0-9]+)?")


def damaged(content: bytes, draw: random.Random, others: Sequence[bytes]) -> bytes:
    """One to eight kinds of damage, one after the other; pieces of `others` get in between."""
    for _ in range(1 + int(draw.expovariate(0.7))):
        content = draw.choice(_ALL)(content, draw, others)
    return content


def _at(content: bytes, draw: random.Random) -> int:
    return draw.randint(0, len(content))


def _piece(content: bytes, draw: random.Random) -> tuple[int, int]:
    begin = _at(content, draw)
    return begin, min(len(content), begin + int(draw.expovariate(0.05)) + 1)


def _flip(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    if not content:
        return b"\x80"
    made = bytearray(content)
    made[draw.randrange(len(made))] ^= 1 << draw.randrange(8)
    return bytes(made)


def _cut(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    begin, end = _piece(content, draw)
    return content[:begin] + content[end:]


def _end(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    return content[: _at(content, draw)]


def _token(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    at = _at(content, draw)
    return content[:at] + draw.choice(BYTES) + content[at:]


def _random(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    at = _at(content, draw)
    return content[:at] + draw.randbytes(draw.randint(1, 12)) + content[at:]


def _again(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    begin, end = _piece(content, draw)
    times = draw.choice((1, 1, 2, 10, 100))
    return content[:end] + content[begin:end] * times + content[end:]


def _graft(content: bytes, draw: random.Random, others: Sequence[bytes]) -> bytes:
    other = draw.choice(others)
    begin, end = _piece(other, draw)
    at = _at(content, draw)
    return content[:at] + other[begin:end] + content[at:]


def _number(content: bytes, draw: random.Random, _: Sequence[bytes]) -> bytes:
    found = list(_NUMBER.finditer(content))
    if not found:
        return content
    one = draw.choice(found)
    return content[: one.start()] + draw.choice(NUMBERS).encode() + content[one.end() :]


def _lines(content: bytes, draw: random.Random, others: Sequence[bytes]) -> bytes:
    lines = content.split(b"\n")
    one, other = draw.randrange(len(lines)), draw.randrange(len(lines))
    kind = draw.randrange(5)
    if kind == 0:
        lines[one], lines[other] = lines[other], lines[one]
    elif kind == 1:
        lines.insert(one, lines[other])
    elif kind == 2:
        del lines[min(one, other) : max(one, other)]
    elif kind == 3:
        lines[one] = b" " * draw.randrange(8) + lines[one].lstrip()
    else:
        lines.insert(one, draw.choice(draw.choice(others).split(b"\n")))
    return b"\n".join(lines)


_ALL = (
    _flip,
    _cut,
    _end,
    _token,
    _token,
    _random,
    _again,
    _graft,
    _number,
    _number,
    _lines,
    _lines,
)
