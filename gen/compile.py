"""Sketch folder -> program for the chip, and what it takes of it."""

from __future__ import annotations

import os
import subprocess
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gen.cache import made_once
from gen.stack import deepest_stack_bytes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from gen.boards import Board
    from gen.toolchain import Toolchain

ARDUINO_CORE = Path("/usr/share/arduino/hardware/arduino/avr")
"""Where Debian's arduino-core-avr puts the board makers' core."""

ARDUINO_VERSION = 10819
"""What the core is told about the desktop tool that compiles it: 1.8.19."""

LANGUAGE = "-std=gnu++11"
WARNINGS = ("-Wall", "-Wextra", "-Wconversion", "-Werror")
CODE = (
    "-Os",
    "-ffunction-sections",
    "-fdata-sections",
    "-fno-exceptions",
    "-fno-threadsafe-statics",
)


class CompileError(Exception):
    """The compiler refused the sketch; the text is what it said."""


@dataclass(frozen=True)
class Built:
    """A compiled sketch. `flash_bytes` is what goes into flash, `ram_bytes` what is taken of RAM
    from the start, `stack_bytes` the most stack that can come on top (see gen/stack.py);
    `sections` are the sizes of the ELF file's loaded sections."""

    elf: Path
    hex: Path
    flash_bytes: int
    ram_bytes: int
    stack_bytes: int
    sections: Mapping[str, int]


def compile_sketch(
    sketch: Path,
    board: Board,
    toolchain: Toolchain,
    out: Path,
    *,
    arduino_core: Path | None = None,
    extra_flags: Sequence[str] = (),
) -> Built:
    """Compiles the one .ino file of the folder `sketch` and everything under its `src` into `out`.

    With `arduino_core` as the board makers' desktop tool does, without it as a program of its own.
    `extra_flags` are given to compiler and linker after our own. Raises CompileError, and
    MissingTool when the toolchain is not complete.
    """
    out = out.resolve()  # a relative path may begin with what a tool takes for an option
    out.mkdir(parents=True, exist_ok=True)
    sketch = sketch.resolve()
    main_file = next(iter(sorted(sketch.glob("*.ino"))))
    chip = _chip_flags(board, arduino_core)
    flags = [*CODE, LANGUAGE, *WARNINGS, *chip, *extra_flags]
    if arduino_core:
        flags += [f"-I{folder}" for folder in _core_folders(board, arduino_core)]

    jobs = []
    for source in [main_file, *sorted(sketch.glob("src/**/*.cpp"))]:
        name = source.relative_to(sketch).as_posix()
        # Named from the sketch's folder, so that no path of this computer gets into the program.
        what = ["-x", "c++"] if source == main_file else []
        if arduino_core and source == main_file:
            what += ["-include", "Arduino.h"]
        target = (out / name.replace("/", ".")).with_suffix(".o").resolve()
        jobs.append([toolchain.tool("g++"), *flags, "-c", *what, name, "-o", str(target)])
    _run_all(jobs, sketch)

    objects = [job[-1] for job in jobs]
    if arduino_core:
        objects.append(str(_core_archive(board, toolchain, arduino_core)))
    elf = out / f"{main_file.stem}.elf"
    link = [
        *CODE,
        *extra_flags,
        "-Wl,--gc-sections",
        f"-mmcu={board.mcu}",
        *objects,
        "-lm",
        "-o",
        str(elf),
    ]
    _run([toolchain.tool("g++"), *link])
    image = elf.with_suffix(".hex")
    _run([toolchain.tool("objcopy"), "-O", "ihex", "-R", ".eeprom", str(elf), str(image)])
    sections = loaded_sections(elf)
    return Built(
        elf=elf,
        hex=image,
        flash_bytes=sections.get(".text", 0) + sections.get(".data", 0),
        ram_bytes=sum(sections.get(name, 0) for name in (".data", ".bss", ".noinit")),
        stack_bytes=deepest_stack_bytes(elf, toolchain, board.flash_bytes),
        sections=sections,
    )


def loaded_sections(elf: Path) -> dict[str, int]:
    """The sections that take room on the chip, and their sizes in bytes."""
    from elftools.elf.elffile import ELFFile  # noqa: PLC0415 - not needed to start the command line

    with elf.open("rb") as stream:
        return {
            section.name: section["sh_size"]
            for section in ELFFile(stream).iter_sections()
            if section["sh_flags"] & 2 and section["sh_size"]
        }


def _chip_flags(board: Board, arduino_core: Path | None) -> list[str]:
    flags = [f"-mmcu={board.mcu}", f"-DF_CPU={board.clock_hz}UL"]
    if arduino_core:
        arduino = board.arduino
        flags += [f"-DARDUINO={ARDUINO_VERSION}", f"-DARDUINO_{arduino.define}"]
        flags += ["-DARDUINO_ARCH_AVR"]
        if arduino.usb_vid:
            flags += [f"-DUSB_VID={arduino.usb_vid}", f"-DUSB_PID={arduino.usb_pid}"]
            flags += ['-DUSB_MANUFACTURER="Unknown"', f'-DUSB_PRODUCT="{arduino.usb_product}"']
    return flags


def _core_folders(board: Board, core: Path) -> list[Path]:
    return [core / "cores" / board.arduino.core, core / "variants" / board.arduino.variant]


def _core_archive(board: Board, toolchain: Toolchain, core: Path) -> Path:
    """The board makers' core for this board. It is theirs, so it is compiled with their flags and
    without our warnings, once, and kept."""
    sources = sorted(
        path
        for path in _core_folders(board, core)[0].iterdir()
        if path.suffix in (".c", ".cpp", ".S")
    )
    flags = [*CODE, *_chip_flags(board, core), "-w"]
    flags += [f"-I{folder}" for folder in _core_folders(board, core)]
    # avr-libc 2.0 with gcc 5.4 lacks this constant in C++11, and the core's Print.cpp wants it.
    flags += ["-DDECIMAL_DIG=__DECIMAL_DIG__"]
    languages = {
        ".c": ["-std=gnu11"],
        ".cpp": [LANGUAGE, "-fpermissive"],
        ".S": ["-x", "assembler-with-cpp"],
    }

    def make(folder: Path) -> None:
        jobs = []
        for source in sources:
            compiler = toolchain.tool("g++" if source.suffix == ".cpp" else "gcc")
            what = [*languages[source.suffix], "-c", source.name]
            target = ["-o", str(folder / f"{source.name}.o")]
            jobs.append([compiler, *flags, *what, *target])
        _run_all(jobs, _core_folders(board, core)[0])
        objects = [job[-1] for job in jobs]
        _run([toolchain.tool("ar"), "rcsD", str(folder / "core.a"), *objects])
        for one in objects:
            Path(one).unlink()

    key = [str(toolchain.folder).encode(), toolchain.version.encode(), " ".join(flags).encode()]
    key += [source.read_bytes() for source in sources]
    return made_once("core", key, make) / "core.a"


def _run_all(jobs: list[list[str]], folder: Path) -> None:
    """Runs all jobs, a few at a time; tells all that went wrong, in the order of the jobs."""
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        failures = [text for text in pool.map(lambda job: _said(job, folder), jobs) if text]
    if failures:
        raise CompileError("\n".join(failures))


def _run(command: list[str]) -> None:
    if said := _said(command, None):
        raise CompileError(said)


def _said(command: list[str], folder: Path | None) -> str:
    """What a command had to say if it failed, else nothing."""
    result = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, "LC_ALL": "C"},
    )
    return (result.stderr.strip() or f"{command[0]} failed") if result.returncode else ""
