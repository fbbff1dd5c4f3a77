"""Runs a compiled program in a simulated chip, by the runner beside this file."""

from __future__ import annotations

import os
import shutil
import struct
import subprocess
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from gen.cache import made_once
from gen.toolchain import MissingTool

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import DTypeLike, NDArray

    from gen.boards import Board

SOURCE = Path(__file__).with_name("runner.c")

RAM_OFFSET = 0x800000
"""Where the linker puts RAM, which the chip numbers from 0."""

EVENT = np.dtype(
    [("cycle", "<u8"), ("input", "u1"), ("level", "u1"), ("millivolts", "<u2"), ("unused", "V4")]
)
EDGE = np.dtype(
    [("cycle", "<u8"), ("output", "u1"), ("level", "u1"), ("driven", "u1"), ("unused", "V5")]
)
BYTE = np.dtype([("cycle", "<u8"), ("value", "u1"), ("unused", "V7")])
"""A byte on the serial port: when its last bit ends."""

FAULT = np.dtype(
    [("cycle", "<u8"), ("kind", "u1"), ("how", "u1"), ("address", "<u2"), ("unused", "V4")]
)
"""What befalls the chip: RESET (`how` is what MCUSR says then), HANG or POKE."""

RESET, HANG, POKE = range(3)

POWER, EXTERNAL, BROWN_OUT = 1, 2, 4
"""Causes of a reset (ATmega328P datasheet, "MCUSR - MCU Status Register")."""

TORN = ("old", "new", "erased", "half")
"""What a cell of the EEPROM may hold in the midst of whose write the power went."""

_TICK = [
    ("sampled", "<u8"),
    ("driven", "<u8"),
    ("done", "<u8"),
    ("levels", "<u8"),
    ("drivens", "<u8"),
]


@dataclass(frozen=True)
class Program:
    """A compiled program: its ELF file, where a variable is, and where its variables end."""

    elf: Path
    report: int
    report_bytes: int
    variables_end: int


@dataclass(frozen=True)
class ChipRun:
    """What happened. `ended` is "ticks" when all were run, "cycles" when the limit was met first,
    "crash" when the chip met an instruction that it does not know. `stack_bytes` is the most that
    was used, `resets` the cycles at which the chip was reset. `edges` are those of the watched
    outputs (EDGE); `ticks` has one row a tick: the cycles of its three marks, the outputs' levels
    and whether they were driven (a bit each), and the `report`. `eeprom` is what lies in it when
    the power is cut at the end; `said` are the bytes (BYTE) that its serial port sent. `struck` are
    the cycles at which faults came, each with the cell of the EEPROM that was being written (-1:
    none); `cells` is the EEPROM as each reset found it."""

    ended: str
    cycles: int
    stack_bytes: int
    resets: tuple[int, ...]
    edges: NDArray[np.void]
    ticks: NDArray[np.void]
    eeprom: bytes
    said: NDArray[np.void]
    struck: tuple[tuple[int, int], ...] = ()
    cells: tuple[bytes, ...] = ()


def read_program(elf: Path, report: str = "report") -> Program:
    """Finds the variable `report` in an ELF file. Raises KeyError if it has none."""
    from elftools.elf.elffile import ELFFile  # noqa: PLC0415 - not needed to start the command line

    with elf.open("rb") as stream:
        file = ELFFile(stream)
        symbols: Any = file.get_section_by_name(".symtab")
        found = symbols.get_symbol_by_name(report) if symbols else None
        if not found:
            raise KeyError(f"{elf.name} has no variable named {report}")
        ends = [
            section["sh_addr"] + section["sh_size"]
            for section in file.iter_sections()
            if section["sh_flags"] & 2 and RAM_OFFSET <= section["sh_addr"] < 2 * RAM_OFFSET
        ]
        return Program(
            elf=elf,
            report=found[0]["st_value"] - RAM_OFFSET,
            report_bytes=found[0]["st_size"],
            variables_end=max(ends) - RAM_OFFSET,
        )


def run_chip(
    program: Program,
    board: Board,
    *,
    ticks: int,
    cycles: int,
    report: DTypeLike,
    events: NDArray[np.void] | None = None,
    inputs: Sequence[str] = (),
    contacts: Sequence[str] = (),
    analogue: Sequence[str] = (),
    chains: Sequence[Sequence[str]] = (),
    outputs: Sequence[str] = (),
    eeprom: bytes = b"",
    heard: NDArray[np.void] | None = None,
    grounded: Sequence[str] = (),
    faults: NDArray[np.void] | None = None,
    torn: str = "half",
) -> ChipRun:
    """Runs `program` from power-up until `ticks` are done or `cycles` are over.

    `events` (EVENT, in the order of time) drive `inputs`, then `contacts`, then `analogue`;
    `outputs` are watched. All are pins of the board; an output may be a timer's ("OC1A") as well.
    `chains` are the data, clock, latch and blank pins ("" for none) of shift registers; their
    outputs are "Q0.0", "Q0.1" … `report` is the layout of the program's report; `eeprom` is what
    lies in it at power-up (cells beyond are erased); `heard` (BYTE, in the order of time) comes in
    at the serial port of the link. `grounded` pins are tied to ground. `faults` (FAULT, in the
    order of time) befall it; `torn` (one of TORN) is what is left of a cell when the power goes.
    Raises MissingTool (`no-simulator`) and RuntimeError with the runner's words.
    """
    layout = np.dtype([*_TICK, ("report", report)])
    if layout["report"].itemsize != program.report_bytes:
        raise RuntimeError(
            f"the report takes {program.report_bytes} bytes in the program, "
            f"not {layout['report'].itemsize} as expected"
        )
    with tempfile.TemporaryDirectory(prefix="pinrail-chip-") as name:
        folder = Path(name)
        (folder / "eeprom").write_bytes(eeprom.ljust(board.eeprom_bytes, b"\xff"))
        (np.empty(0, EVENT) if events is None else events).tofile(folder / "events")
        (np.empty(0, BYTE) if heard is None else heard).tofile(folder / "heard")
        (np.empty(0, FAULT) if faults is None else faults).tofile(folder / "faults")
        result = subprocess.run(
            [
                str(runner()),
                f"ticks={ticks}",
                f"cycles={cycles}",
                *_about_chip(program, board),
                *_about_inputs(board, inputs, contacts, analogue, chains),
                *(f"output={_place(board, pin)}" for pin in outputs),
                *(f"ground={_place(board, pin)}" for pin in grounded),
                *(f"{file}={folder / file}" for file in FILES),
                f"torn={torn}",
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        if result.returncode:
            raise RuntimeError(result.stderr.strip())
        told = [line.split() for line in result.stdout.splitlines()]
        facts = {word: value for word, value in told if word not in {"reset", "fault"}}
        whole = (folder / "cells").read_bytes()
        return ChipRun(
            ended=facts["ended"],
            cycles=int(facts["cycles"]),
            stack_bytes=int(facts["stack"]),
            resets=tuple(int(value) for word, value in told if word == "reset"),
            edges=np.fromfile(folder / "edges", dtype=EDGE),
            ticks=np.fromfile(folder / "ticklog", dtype=layout),
            eeprom=(folder / "eeprom").read_bytes(),
            said=np.fromfile(folder / "said", dtype=BYTE),
            struck=tuple(
                (int(cycle), int(cell))
                for word, value in told
                if word == "fault"
                for cycle, cell in [value.split(",")]
            ),
            cells=tuple(
                whole[at : at + board.eeprom_bytes]
                for at in range(0, len(whole), board.eeprom_bytes)
            ),
        )


FILES = ("events", "edges", "ticklog", "eeprom", "heard", "said", "faults", "cells")


def _about_chip(program: Program, board: Board) -> list[str]:
    return [
        f"elf={program.elf}",
        f"mcu={board.mcu}",
        f"hz={board.clock_hz}",
        f"report={program.report},{program.report_bytes}",
        f"stack={program.variables_end}",
        f"usart={board.link.usart}",
    ]


def _about_inputs(
    board: Board,
    inputs: Sequence[str],
    contacts: Sequence[str],
    analogue: Sequence[str],
    chains: Sequence[Sequence[str]],
) -> list[str]:
    return [
        *(f"input={_place(board, pin)}{_change(board, pin)}" for pin in inputs),
        *(f"contact={_place(board, pin)}" for pin in contacts),
        *(f"analogue={_channel(board, pin)}" for pin in analogue),
        *(
            "chain=" + ",".join(_place(board, pin) if pin else "-" for pin in chain)
            for chain in chains
        ),
    ]


@dataclass(frozen=True)
class Answer:
    """What a step of a running chip brought: how far it is, and the bytes (BYTE) that it sent."""

    cycle: int
    ticks: int
    resets: int
    said: NDArray[np.void]


class RunningChip:
    """A chip that goes on step by step, with whatever comes in from outside. A context manager."""

    def __init__(
        self,
        program: Program,
        board: Board,
        *,
        inputs: Sequence[str] = (),
        contacts: Sequence[str] = (),
        analogue: Sequence[str] = (),
        chains: Sequence[Sequence[str]] = (),
        eeprom: bytes = b"",
        grounded: Sequence[str] = (),
    ) -> None:
        """At power-up. Raises MissingTool (`no-simulator`)."""
        self._folder = tempfile.TemporaryDirectory(prefix="pinrail-chip-")
        folder = Path(self._folder.name)
        (folder / "eeprom").write_bytes(eeprom.ljust(board.eeprom_bytes, b"\xff"))
        self._process = subprocess.Popen(
            [
                str(runner()),
                "live=1",
                f"ticks={1 << 62}",
                *_about_chip(program, board),
                *_about_inputs(board, inputs, contacts, analogue, chains),
                *(f"ground={_place(board, pin)}" for pin in grounded),
                f"eeprom={folder / 'eeprom'}",
                f"edges={os.devnull}",
                f"ticklog={os.devnull}",
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )

    def __enter__(self) -> RunningChip:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Cuts its power."""
        self._process.communicate()
        self._folder.cleanup()

    def run(
        self,
        until: int,
        heard: NDArray[np.void] | None = None,
        events: NDArray[np.void] | None = None,
    ) -> Answer:
        """Goes on until the cycle `until`. `heard` (BYTE) and `events` (EVENT) lie behind all that
        was given before. Raises RuntimeError if the chip has crashed."""
        given = np.empty(0, EVENT) if events is None else events
        bytes_in = np.empty(0, BYTE) if heard is None else heard
        into, out = self._process.stdin, self._process.stdout
        if into is None or out is None:
            raise RuntimeError("the simulated chip has no power")
        try:
            into.write(struct.pack("<QII", until, len(given), len(bytes_in)))
            into.write(given.tobytes() + bytes_in.tobytes())
            into.flush()
        except BrokenPipeError:
            raise RuntimeError("the simulated chip has crashed") from None
        head = out.read(ANSWER.size)
        if len(head) != ANSWER.size:
            raise RuntimeError("the simulated chip has crashed")
        cycle, ticks, resets, count = ANSWER.unpack(head)
        said = np.frombuffer(out.read(count * BYTE.itemsize), dtype=BYTE)
        return Answer(cycle, ticks, resets, said)


ANSWER = struct.Struct("<QQII")


def _place(board: Board, label: str) -> str:
    """Where a pin is on the chip: "D2" on the board, "D2" or "E4" on the chip."""
    if (pin := board.pin(label)) is None:
        return label
    return f"{pin.port}{pin.bit}"


def _channel(board: Board, label: str) -> int:
    """The converter's channel of a pin. Raises ValueError if it has none."""
    pin = board.pin(label)
    if pin is None or pin.analogue is None:
        raise ValueError(f"{board.name} cannot measure at {label}")
    return pin.analogue


def _change(board: Board, label: str) -> str:
    """The pin's pin-change interrupt. One that has none may be driven all the same."""
    pin = board.pin(label)
    if pin is None or pin.change_group is None:
        return ""
    return f",{pin.change_group},{pin.change_bit}"


@lru_cache
def runner() -> Path:
    """The runner, compiled when it is first needed and kept.

    Raises MissingTool (`no-simulator`).
    """
    compiler = next(
        (found for name in (os.environ.get("CC"), "cc", "gcc", "clang")
         if name and (found := shutil.which(name))),
        None,
    )  # fmt: skip
    if compiler is None:
        raise _missing("there is no C compiler for this computer (looked for $CC, cc, gcc, clang)")

    def make(folder: Path) -> None:
        command = [compiler, "-std=gnu11", "-O2", "-Wall", "-Wextra", str(SOURCE)]
        command += ["-o", str(folder / "runner"), "-lsimavr", "-lelf", "-lm"]
        result = subprocess.run(command, capture_output=True, text=True, check=False)
        if result.returncode:
            first = next((line for line in result.stderr.splitlines() if "error" in line), "")
            raise _missing(f"the chip simulator's runner does not compile: {first}")

    return made_once("runner", [SOURCE.read_bytes(), compiler.encode()], make) / "runner"


def _missing(what: str) -> MissingTool:
    return MissingTool(
        "no-simulator", what, "on Debian: apt-get install gcc libc6-dev libsimavr-dev libelf-dev"
    )
