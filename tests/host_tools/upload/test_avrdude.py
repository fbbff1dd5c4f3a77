"""What avrdude says, shortened. SILENT and the beginnings of the others are what Debian's avrdude
(7.1+dfsg-3) said to the boards of tests/host_tools/cli/test_upload.py; what it says of other
failures, and what 6.3 says, is from memory."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from gen.boards import load_board
from gen.toolchain import MissingTool
from host_tools.link.errors import LinkError
from host_tools.upload import avrdude
from host_tools.upload.avrdude import Ended, command
from host_tools.upload.writing import Holds, Writing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    EndsWith = Callable[[str, int], list[list[str]]]

SILENT = """\
avrdude OS error: ioctl("TIOCMGET"): Inappropriate ioctl for device
avrdude error: programmer is not responding
avrdude warning: attempt 1 of 1: not in sync: resp=0x00
avrdude error: unable to open programmer arduino on port /dev/pts/0

avrdude done.  Thank you.
"""
OTHER_CHIP = """\
avrdude: AVR device initialized and ready to accept instructions
avrdude: device signature = 0x1e9801 (probably m2560)
avrdude error: expected signature for ATmega328P is 1E 95 0F
         double check chip, or use -F to override this check

avrdude done.  Thank you.
"""
OLDER_OTHER_CHIP = """\
avrdude: AVR device initialized and ready to accept instructions
avrdude: Device signature = 0x1e9406 (probably m168)
avrdude: Expected signature for ATmega328P is 1E 95 0F
         Double check chip, or use -F to override this check.
"""
NOT_THE_SAME = """\
avrdude: AVR device initialized and ready to accept instructions
avrdude: device signature = 0x1e950f (probably m328p)
avrdude: reading input file /tmp/x.hex for flash
         with 4000 bytes in 1 section within [0, 0xf9f]
         using 32 pages and 96 pad bytes
avrdude: writing 4000 bytes flash ...
avrdude: 4000 bytes of flash written
avrdude: verifying flash memory against /tmp/x.hex
avrdude warning: verification mismatch, first encountered at addr 0x0100
         device 0xff != input 0x0c
avrdude error: verification mismatch

avrdude done.  Thank you.
"""
PULLED = """\
avrdude: device signature = 0x1e950f (probably m328p)
avrdude: writing 4000 bytes flash ...
avrdude error: programmer is not responding
avrdude error: unable to write page at 0x0280

avrdude done.  Thank you.
"""


@pytest.fixture
def ends_with(monkeypatch: pytest.MonkeyPatch) -> EndsWith:
    """Has avrdude say this and end with this code; returns the commands that it is given."""

    def prepare(text: str, code: int) -> list[list[str]]:
        commands = []

        def run(words: Sequence[str], hear: Callable[[str], None]) -> Ended:
            commands.append(list(words))
            for line in text.splitlines():
                hear(line)
            return Ended(code, tuple(text.splitlines()))

        monkeypatch.setattr(avrdude, "run", run)
        return commands

    return prepare


@pytest.mark.parametrize(
    ("text", "code", "holds", "said"),
    [
        (SILENT, "loader-silent", Holds.OLD, "avrdude says: programmer is not responding; n"),
        (OTHER_CHIP, "other-board", Holds.OLD, "its chip is the ATmega2560 of a mega"),
        (OLDER_OTHER_CHIP, "other-board", Holds.OLD, "its chip is m168"),
        (NOT_THE_SAME, "not-verified", Holds.PART, "device 0xff != input 0x0c"),
        (PULLED, "not-written", Holds.PART, "unable to write page at 0x0280"),
        ("", "loader-silent", Holds.OLD, "no boot loader of a nano answers at /dev/x"),
    ],
    ids=["silent", "other chip", "other chip, 6.3", "not verified", "pulled", "nothing said"],
)
def test_why_it_failed(text: str, code: str, holds: Holds, said: str, ends_with: EndsWith) -> None:
    ends_with(text, 1)
    work = Writing(load_board("nano"), Path("x.hex"), lambda _: None)
    with pytest.raises(LinkError) as told:
        work.write("avrdude", "/dev/x")
    assert told.value.code == code
    assert told.value.board_fell_short == (code != "other-board")
    assert said in told.value.what
    assert work.holds is holds
    assert holds.value in told.value.what
    assert "TIOCM" not in told.value.what
    assert "Thank you" not in told.value.what


def test_both_rates_of_a_nano_are_tried_twice(
    ends_with: EndsWith,
) -> None:
    commands = ends_with(SILENT, 1)
    with pytest.raises(LinkError):
        Writing(load_board("nano"), Path("x.hex"), lambda _: None).write("avrdude", "/dev/x")
    rates = [words[words.index("-b") + 1] for words in commands]
    assert rates == ["115200", "57600", "115200", "57600"]


def test_a_chip_that_answered_is_not_asked_at_another_rate(
    ends_with: EndsWith,
) -> None:
    commands = ends_with(PULLED, 1)
    with pytest.raises(LinkError):
        Writing(load_board("nano"), Path("x.hex"), lambda _: None).write("avrdude", "/dev/x")
    assert len(commands) == 1


@pytest.mark.parametrize(
    ("board", "port", "words"),
    [
        ("nano", "COM12", "-p atmega328p -c arduino -P COM12 -b 57600 -D -x attempts=1"),
        ("mega", "/dev/cu.usbmodem14", "-p atmega2560 -c wiring -P /dev/cu.usbmodem14 -b 57600 -D"),
        ("micro", "socket://h:1", "-p atmega32u4 -c avr109 -P net:h:1 -b 57600 -D"),
    ],
)
def test_the_command_is_made_of_the_boards_file(board: str, port: str, words: str) -> None:
    told = " ".join(command("avrdude", load_board(board), port, 57600, Path("x.hex")))
    assert told == f"avrdude -q {words} -U flash:w:x.hex:i"


def test_lines_come_as_they_are_said_and_the_code_at_the_end() -> None:
    heard: list[str] = []
    script = "import sys; print('one', flush=True); print('zwei \\xff', file=sys.stderr); exit(3)"
    ended = avrdude.run([sys.executable, "-c", script], heard.append)
    assert ended.code == 3
    assert heard == list(ended.lines)
    assert heard[0] == "one"


def test_what_hangs_is_ended(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(avrdude, "LONGEST_S", 0.2)
    ended = avrdude.run([sys.executable, "-c", "import time; time.sleep(60)"], lambda _: None)
    assert ended.code != 0


def test_an_avrdude_that_does_not_run_is_missing(tmp_path: Path) -> None:
    program = tmp_path / "avrdude"
    program.write_text("no program", encoding="utf-8")
    program.chmod(0o755)
    with pytest.raises(MissingTool, match=r"no-avrdude.*does not run"):
        avrdude.run([str(program)], lambda _: None)
