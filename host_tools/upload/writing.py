"""Writes a sketch into a board, and knows at each moment what the board holds."""

from __future__ import annotations

import enum
from typing import TYPE_CHECKING

from gen.boards import board_names, load_board
from host_tools.link.errors import LinkError
from host_tools.link.ports import SerialPort
from host_tools.link.session import Session
from host_tools.upload import avrdude

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from gen.boards import Board
    from host_tools.link.identity import Identity

CAUTION = (
    "CAUTION: propellers off, motors' fuse out, moving parts clear. While it is written the board\n"
    "does not hold its outputs, and what is written starts at once."
)


class Holds(enum.Enum):
    """What the board holds. The value says so to a person whose upload has ended early."""

    OLD = "nothing was written: the board holds what it held before"
    PART = (
        "the board holds only a part of this sketch, and its outputs may do anything:"
        " leave the motors' fuse out, and upload again"
    )
    NEW = "the sketch is written and verified; the board was not asked who it is"


class Writing:
    """The upload of one compiled sketch, `image` (Intel hex). `holds` is true also after something
    has stopped it; `tell` is handed how far it has come."""

    def __init__(self, board: Board, image: Path, tell: Callable[[str], None]) -> None:
        self.board = board
        self.image = image
        self.holds = Holds.OLD
        self._tell = tell

    def write(self, program: str, port: str) -> None:
        """Writes and verifies by the avrdude `program`.

        Raises LinkError (`other-board`, `loader-silent`, `not-verified`, `not-written`), and
        MissingTool (`no-avrdude`).
        """
        upload = self.board.upload
        # A loader may miss its moment, and each rate is tried twice where there are two.
        bauds = [upload.baud] if upload.older_baud is None else [upload.baud, upload.older_baud] * 2
        for baud in bauds:
            self._tell(f"waiting for the boot loader at {baud} baud ...")
            ended = avrdude.run(
                avrdude.command(program, self.board, port, baud, self.image), self._hear
            )
            if ended.code == 0:
                self.holds = Holds.NEW
                return
            if ended.chip:
                break
        raise self._why_not(ended, port)

    def _hear(self, line: str) -> None:
        line = line.lower()
        if "writing" in line and "flash" in line:
            self.holds = Holds.PART
            self._tell("writing ...")
        elif "verifying" in line:
            self._tell("verifying ...")

    def _why_not(self, ended: avrdude.Ended, port: str) -> LinkError:
        words = ended.words()
        says = f"; avrdude says: {words}" if words else ""
        if ended.says("expected signature", "invalid device signature"):
            return other_board(self.board, f"its chip is {_chip_title(ended.chip)}")
        if ended.says("verification mismatch", "verification error"):
            what = f"what was read back from the board is not what was written{says}"
            return LinkError("not-verified", f"{what}; {self.holds.value}", board_fell_short=True)
        if not ended.chip:
            what = f"no boot loader of a {self.board.name} answers at {port}{says}"
            return LinkError("loader-silent", f"{what}; {self.holds.value}", board_fell_short=True)
        what = f"avrdude failed{says}"
        return LinkError("not-written", f"{what}; {self.holds.value}", board_fell_short=True)


def who_runs(port: str, within_s: float) -> Identity | None:
    """What runs on a board, if it says so; opening the port shows whether it can be used at all.

    Raises LinkError (`port-missing`, `port-denied`, `port-busy`, `port-gone`).
    """
    opened = SerialPort(port)
    try:
        return Session(opened).open(within_s)
    except LinkError as error:
        if error.code in ("port-silent", "port-babble"):
            return None
        raise
    finally:
        opened.close()


def check_board(board: Board, identity: Identity | None) -> None:
    """Raises LinkError (`other-board`) if what runs on the board says that it is another one."""
    if identity is not None and identity.board not in ("", board.name):
        raise other_board(board, f"what runs on it says that it is a {identity.board}")


def other_board(board: Board, why: str) -> LinkError:
    """The sketch is for another board than the one at the port; nothing was written."""
    return LinkError(
        "other-board",
        f"the sketch is for a {board.name} with an {board.chip}, and this is another board: {why};"
        f" {Holds.OLD.value}",
    )


def _chip_title(chip: str) -> str:
    """The chip's full name if a board here has it: avrdude says m2560 of an ATmega2560."""
    boards = [load_board(name) for name in board_names()]
    names = {one.mcu.replace("atmega", "m"): f"the {one.chip} of a {one.name}" for one in boards}
    return names.get(chip, chip or "another")
