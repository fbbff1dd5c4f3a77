"""The smallest input that still does it: pieces are taken away as long as the fault stays."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

LONGEST_S = 60.0


def smallest(content: bytes, still: Callable[[bytes], bool], within_s: float = LONGEST_S) -> bytes:
    """First lines, then bytes; halves of them, quarters, ... ; for `within_s` at most."""
    until = time.monotonic() + within_s
    for separator in (b"\n", b""):
        pieces = content.split(separator) if separator else [bytes([one]) for one in content]
        content = separator.join(_fewest(pieces, separator, still, until))
    return content


def _fewest(
    pieces: list[bytes], separator: bytes, still: Callable[[bytes], bool], until: float
) -> list[bytes]:
    size = max(1, len(pieces) // 2)
    while pieces:
        at, shorter = 0, False
        while at < len(pieces):
            if time.monotonic() > until:
                return pieces
            tried = pieces[:at] + pieces[at + size :]
            if still(separator.join(tried)):
                pieces, shorter = tried, True
            else:
                at += size
        if size == 1 and not shorter:
            break
        size = max(1, size // 2)
    return pieces
