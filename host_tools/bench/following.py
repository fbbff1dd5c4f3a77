"""The ship file in its owner's editor: whether what lies there is still what runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import ShipError
from host_tools.opened import opened_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from host_tools.opened import OpenedShip

SAME, NEWER, BROKEN, MISSING = "same", "newer", "broken", "missing"

LOOK_S = 0.2
"""How often the file is looked at. It is read once it is found twice alike: an editor that is in
the middle of writing is waited for."""

Mark = tuple[int, int, int] | None


class Following:
    """`state` is one of the words above, `problems` what is wrong with a file that is broken."""

    def __init__(self, path: Path, clock: Callable[[], float]) -> None:
        self.state = SAME
        self.problems: list[str] = []
        self._path = path
        self._clock = clock
        self._looked_at = clock()
        self._read = self._seen = self._mark()

    def turn(self) -> bool:
        """Whether the file is another one than that which was read last."""
        if self._clock() - self._looked_at < LOOK_S:
            return False
        self._looked_at = self._clock()
        mark = self._mark()
        settled, self._seen = mark == self._seen, mark
        if mark is None:
            if settled and self.state != MISSING:
                self.state, self.problems = MISSING, []
            return False
        return settled and (mark != self._read or self.state == MISSING)

    def read(self) -> OpenedShip | None:
        """The file as it lies there; None if there is something wrong with it."""
        self._read = self._seen = self._mark()
        try:
            opened = opened_file(self._path)
        except ShipError as error:
            self.state = BROKEN if self._read is not None else MISSING
            self.problems = [str(problem) for problem in error.problems]
            return None
        self.state, self.problems = SAME, []
        return opened

    def fail(self, why: str) -> None:
        """What was read cannot be run here."""
        self.state, self.problems = BROKEN, [why]

    def _mark(self) -> Mark:
        try:
            found = self._path.stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_size, found.st_ino
