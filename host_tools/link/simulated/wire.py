"""The wire between a simulated board and whoever listens: as slow and as short of room as a real
one."""

from __future__ import annotations

from gen.plan import TICK_US
from host_tools.link.lines import AROUND_WORDS, MOST_FROM_BOARD, Writer

BAUD = 115_200
BITS_A_BYTE = 10
"""8 data bits with a start and a stop bit."""

MILLIBYTES_A_TICK = BAUD * TICK_US // (1_000 * BITS_A_BYTE)
"""57.6 bytes, in thousandths."""

ROOM = 512
"""How many bytes may wait for the wire."""

CALM = 64
"""With no more than this waiting, less than a tick's worth or so, what is not urgent may follow."""


class Outgoing:
    """Lines on their way out. A line for which there is no room is dropped whole and counted."""

    def __init__(self) -> None:
        self.dropped = 0
        self._writer = Writer(MOST_FROM_BOARD)
        self._waiting = b""
        self._credit = 0

    def put(self, words: str) -> bool:
        """Sends a line if there is room for it; only then it has a number."""
        if len(self._waiting) + len(words.encode()) + AROUND_WORDS + 1 > ROOM:
            self.dropped += 1
            return False
        self._waiting += self._writer.line(words)
        return True

    @property
    def is_calm(self) -> bool:
        """Whether a line that can wait may go: ticks come first."""
        return len(self._waiting) <= CALM

    def leaves(self) -> bytes:
        """What goes over the wire in one tick."""
        self._credit += MILLIBYTES_A_TICK
        count = min(self._credit // 1_000, len(self._waiting))
        # An idle wire saves up nothing but the byte that it is in the middle of.
        self._credit = min(self._credit - 1_000 * count, 999)
        data, self._waiting = self._waiting[:count], self._waiting[count:]
        return data


class Incoming:
    """Bytes on their way in: no more of them arrive in a tick than the wire carries."""

    def __init__(self) -> None:
        self._waiting = b""
        self._credit = 0

    @property
    def wants(self) -> int:
        """How many bytes may be handed over now: the rest waits outside."""
        return max(0, ROOM - len(self._waiting))

    def put(self, data: bytes) -> None:
        """Hands over what was sent."""
        self._waiting += data

    def arrives(self) -> bytes:
        """What comes in within one tick."""
        self._credit += MILLIBYTES_A_TICK
        count = min(self._credit // 1_000, len(self._waiting))
        self._credit = min(self._credit - 1_000 * count, 999)
        data, self._waiting = self._waiting[:count], self._waiting[count:]
        return data
