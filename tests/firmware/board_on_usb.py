"""A board as it hangs on a computer: a boot loader in a simulated chip, behind a terminal."""

from __future__ import annotations

import re
import subprocess
import threading
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, TYPE_CHECKING

from gen.cache import made_once
from gen.compile import ARDUINO_CORE
from gen.toolchain import find_toolchain

if TYPE_CHECKING:
    from collections.abc import Iterator

SOURCE = Path(__file__).with_name("board_on_usb.c")
LOADERS = ARDUINO_CORE / "bootloaders"

HZ = 16_000_000
NOTHING = {0: 0xFF, 1: 0xCF}
"""The whole of a sketch: `rjmp .-2` (AVR Instruction Set Manual, RJMP: 1100 kkkk kkkk kkkk)."""

ENDS_S = 30


@dataclass(frozen=True)
class Kind:
    """A chip with one of the boot loaders that Debian's arduino-core-avr brings. A loader that is a
    C file is compiled for a boot section that begins at `start`: Debian's compiler makes more of
    optiboot.c than the 512 bytes that it was written for, so that the end of the package's own
    optiboot_atmega328.hex (1.8.7+dfsg-1) lies beyond the flash memory. Here it has 1024."""

    mcu: str
    flash_bytes: int
    loader: str
    start: int = 0

    def loader_cells(self) -> dict[int, int]:
        if not self.loader.endswith(".c"):
            return cells_of(LOADERS / self.loader)
        return cells_of(_compiled(LOADERS / self.loader, self.mcu, self.start))


NANO = Kind("atmega328p", 32768, "optiboot/optiboot.c", 32768 - 1024)
OLD_NANO = Kind("atmega328p", 32768, "atmega/ATmegaBOOT_168_atmega328.hex")
MEGA = Kind("atmega2560", 262144, "stk500v2/stk500boot_v2_mega2560.hex")
SMALLER_CHIP = Kind("atmega168", 16384, "optiboot/optiboot.c", 16384 - 1024)


@dataclass
class BoardOnUsb:
    """One that runs. `flash` is what its memory held when its power was cut, `ports` are then the
    directions and levels of its ports ("B": (2, 0))."""

    kind: Kind
    port: str
    told: list[str] = field(default_factory=list)
    flash: bytes = b""
    ports: dict[str, tuple[int, int]] = field(default_factory=dict)

    def holds(self, cells: dict[int, int]) -> bool:
        return all(self.flash[address] == byte for address, byte in cells.items())

    @property
    def ticks(self) -> int:
        """How many ticks the sketch had marked since the chip was reset last, rounded down to a
        power of two."""
        count = 0
        for line in self.told:
            word, _, value = line.partition(" ")
            count = int(value) if word == "ticks" else 0 if word == "reset" else count
        return count

    def hear(self, stream: IO[str]) -> None:
        for line in stream:
            word, *values = line.split()
            if word == "port":
                self.ports[values[0]] = (int(values[1], 16), int(values[2], 16))
            self.told.append(line.strip())


@contextmanager
def board_on_usb(kind: Kind, folder: Path, sketch: Path | None = None) -> Iterator[BoardOnUsb]:
    """Powered until the end of the `with`. `sketch` (Intel hex) is in it already; else one that
    does nothing, for a loader without any would start itself over and over."""
    cells = kind.loader_cells()
    start = min(cells)
    cells |= NOTHING if sketch is None else cells_of(sketch)
    memory = folder / "flash"
    memory.write_bytes(bytes(cells.get(address, 0xFF) for address in range(kind.flash_bytes)))
    words = [f"mcu={kind.mcu}", f"hz={HZ}", f"start={start}", f"flash={memory}"]
    with subprocess.Popen(
        [str(_program()), *words], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        board = BoardOnUsb(kind, process.stdout.readline().split()[1])
        hearing = threading.Thread(target=board.hear, args=[process.stdout])
        hearing.start()
        try:
            yield board
        finally:
            process.stdin.close()
            process.wait(ENDS_S)
            hearing.join()
    board.flash = memory.read_bytes()
    assert process.returncode == 0
    assert not [line for line in board.told if line.startswith("crash")]


def cells_of(path: Path) -> dict[int, int]:
    """The bytes of an Intel hex file (Intel, Hexadecimal Object File Format Specification, 1988:
    records 00 of data and 02 of a segment) by their addresses."""
    cells: dict[int, int] = {}
    segment = 0
    for line in path.read_text(encoding="ascii").split():
        count, high, low, kind, *rest = bytes.fromhex(re.sub("^:", "", line))
        if kind == 2:
            segment = (rest[0] << 8 | rest[1]) << 4
        elif kind == 0:
            first = segment + (high << 8 | low)
            cells |= dict(zip(range(first, first + count), rest, strict=False))
    return cells


def _compiled(source: Path, mcu: str, start: int) -> Path:
    """As the Makefile beside it does, but for where it begins."""
    chain = find_toolchain()
    flags = ["-Os", "-fno-split-wide-types", "-mrelax", f"-mmcu={mcu}", f"-DF_CPU={HZ}L"]
    flags += ["-DLED_START_FLASHES=3", "-DBAUD_RATE=115200", "-nostartfiles", "-nostdlib", "-w"]
    flags += [f"-Wl,--section-start=.text={start:#x},--relax"]

    def make(folder: Path) -> None:
        elf, image = str(folder / "loader.elf"), str(folder / "loader.hex")
        subprocess.run([chain.tool("gcc"), *flags, "-o", elf, str(source)], check=True)
        only = ["-j", ".text", "-O", "ihex"]
        subprocess.run([chain.tool("objcopy"), *only, elf, image], check=True)

    key = [source.read_bytes(), chain.version.encode(), " ".join(flags).encode()]
    return made_once("loader", key, make) / "loader.hex"


def _program() -> Path:
    def make(folder: Path) -> None:
        command = ["cc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror", str(SOURCE)]
        command += ["-o", str(folder / "board_on_usb"), "-lsimavr", "-lelf", "-lm"]
        subprocess.run(command, check=True)

    return made_once("board-on-usb", [SOURCE.read_bytes()], make) / "board_on_usb"
