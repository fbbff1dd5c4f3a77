"""Runs avrdude, and shortens what it says to what helps."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.toolchain import MissingTool

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from gen.boards import Board

LONGEST_S = 600
"""What takes longer hangs: the largest sketch that fits a mega takes less than two minutes."""

WORDS_MOST = 3
"""How many of its sentences are repeated when it fails."""


@dataclass(frozen=True)
class Ended:
    """How avrdude ended, and what it said by then."""

    code: int
    lines: tuple[str, ...]

    @property
    def chip(self) -> str:
        """The chip that answered: "m2560", its signature if it has no name here, "" if none did."""
        for line in self.lines:
            if match := re.search(r"device signature = (\S+)(?: \(probably (\S+)\))?", line, re.I):
                return match[2] or match[1]
        return ""

    def says(self, *patterns: str) -> bool:
        """Whether one of these stands in what it said, in whatever case."""
        return any(re.search(one, line, re.I) for line in self.lines for one in patterns)

    def words(self) -> str:
        """What it said, without what helps nobody."""
        kept: list[str] = []
        for line in self.lines:
            said = re.sub(r"^\s*avrdude(?:\.exe)?(?::| error:| warning:| OS error:)*\s*", "", line)
            said = said.strip()
            if said and not _IDLE.search(said) and said not in kept:
                kept.append(said)
        return "; ".join(kept[-WORDS_MOST:])


_IDLE = re.compile(
    r"^done\.|^version |TIOCM|^attempt \d+ of|retry attempts|initialized and ready|signature = "
    r"|^reading input file|section within|pad bytes|^writing |^verifying |bytes of flash|^using "
    r"|^input file|^load data|^reading on-chip|^safemode|^caution|^%|^connecting|^found programmer"
    r"|^software version|^programmer (?:type|supports)|^the following|^device code|^\."
    r"|unable to open programmer|^double check",
    re.IGNORECASE,
)
"""Its progress, in the versions 6.3 to 7.1, and what follows from another line."""


def find_avrdude() -> str:
    """The avrdude of this computer. Raises MissingTool (`no-avrdude`)."""
    found = shutil.which("avrdude")
    if found is None:
        raise missing("avrdude, which writes sketches into boards, is not on the PATH")
    return found


def missing(what: str) -> MissingTool:
    """There is no avrdude that runs."""
    return MissingTool(
        "no-avrdude", what, "on Debian: apt-get install avrdude; the desktop tool brings one too"
    )


def command(avrdude: str, board: Board, port: str, baud: int, image: Path) -> list[str]:
    """Writes `image` into a board's flash memory through its boot loader, and verifies it.

    The chip is not erased (-D): the boot loader erases page by page, and cannot erase itself.
    """
    words = [avrdude, "-q", "-p", board.mcu, "-c", board.upload.protocol]
    words += ["-P", port_for_avrdude(port), "-b", str(baud), "-D"]
    if board.upload.older_baud is not None:
        words += ["-x", "attempts=1"]  # else it takes a minute to find that the rate is another
    return [*words, "-U", f"flash:w:{image}:i"]


def port_for_avrdude(port: str) -> str:
    """A port as avrdude writes it: of TCP it says `net:`."""
    return port.replace("socket://", "net:", 1)


def run(words: Sequence[str], hear: Callable[[str], None]) -> Ended:
    """Runs avrdude; each line that it says is handed to `hear` at once.

    It has a session of its own, so that Ctrl-C comes to us alone; what stops us ends it.
    Raises MissingTool (`no-avrdude`) if it does not run at all.
    """
    try:
        process = subprocess.Popen(
            words,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
            env={**os.environ, "LC_ALL": "C"},
            start_new_session=True,
        )
    except OSError as error:
        raise missing(f"{words[0]} does not run: {error.strerror or error}") from error
    too_long = threading.Timer(LONGEST_S, process.kill)
    too_long.daemon = True
    too_long.start()
    lines = []
    try:
        with process:
            for line in process.stdout or ():
                lines.append(line.rstrip())
                hear(lines[-1])
            return Ended(process.wait(), tuple(lines))
    finally:
        too_long.cancel()
        process.kill()
        process.wait()
