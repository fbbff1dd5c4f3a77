"""The USB of a chip that has it itself, as its boot loader and a sketch of the makers' core behave.

simavr cannot put the chip's own USB on a computer, so that this is no chip: two terminals, of which
one is there at a time, and the commands of the loader (bootloaders/caterina/Caterina.c of
arduino-core-avr, which follow Atmel's application note AVR109). What is real is avrdude, and the
terminals' rates.
"""

from __future__ import annotations

import os
import select
import termios
import threading
import tty
from contextlib import contextmanager
from typing import TYPE_CHECKING

from host_tools.link.ports import FoundPort

if TYPE_CHECKING:
    from collections.abc import Iterator

FLASH_BYTES = 32768
SIGNATURE = b"\x87\x95\x1e"
"""Of an ATmega32U4, the last byte first (datasheet 7766F, "Signature Bytes")."""

ANSWERS = {
    b"S": b"CATERIN",
    b"V": b"10",
    b"p": b"S",
    b"a": b"Y",
    b"b": b"Y\x00\x80",
    b"t": b"\x44\x00",
    b"s": SIGNATURE,
    b"P": b"\r",
    b"L": b"\r",
    b"E": b"\r",
}


class BoardWithUsb:
    def __init__(self) -> None:
        self.flash = bytearray(b"\xff" * FLASH_BYTES)
        self._sketch, sketch_end = os.openpty()
        self._loader, self._loader_end = os.openpty()
        self.sketch_port, self.loader_port = os.ttyname(sketch_end), os.ttyname(self._loader_end)
        tty.setraw(self._loader_end)
        os.close(sketch_end)
        self._is_loader = threading.Event()
        self._ends = threading.Event()
        self._address = 0
        self._thread = threading.Thread(target=self._live)
        self._thread.start()

    def found_ports(self) -> list[FoundPort]:
        port = self.loader_port if self._is_loader.is_set() else self.sketch_port
        return [FoundPort(port, "USB")]

    def close(self) -> None:
        self._ends.set()
        self._thread.join()
        for end in (self._sketch, self._loader, self._loader_end):
            os.close(end)

    def _live(self) -> None:
        while not self._ends.is_set() and termios.tcgetattr(self._sketch)[5] != termios.B1200:
            self._ends.wait(0.02)
        self._is_loader.set()
        while command := self._take(1):
            os.write(self._loader, self._answer(command))

    def _answer(self, command: bytes) -> bytes:
        if command == b"T":
            self._take(1)
            return b"\r"
        if command == b"A":
            self._address = int.from_bytes(self._take(2), "big") * 2
            return b"\r"
        if command in (b"B", b"g"):
            count = int.from_bytes(self._take(2), "big")
            if self._take(1) != b"F":
                return b"?"
            cells = slice(self._address, self._address + count)
            self._address += count
            if command == b"g":
                return bytes(self.flash[cells])
            self.flash[cells] = self._take(count)
            return b"\r"
        return ANSWERS.get(command, b"?")

    def _take(self, count: int) -> bytes:
        """So many bytes; none at the end."""
        data = b""
        while len(data) < count and not self._ends.is_set():
            if select.select([self._loader], [], [], 0.05)[0]:
                data += os.read(self._loader, count - len(data))
        return data


@contextmanager
def board_with_usb() -> Iterator[BoardWithUsb]:
    board = BoardWithUsb()
    try:
        yield board
    finally:
        board.close()
