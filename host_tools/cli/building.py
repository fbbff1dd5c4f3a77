"""Compiles a ship's sketch in a folder that is thrown away, for commands that need its program."""

from __future__ import annotations

from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from gen.compile import compile_sketch
from gen.render import render
from gen.toolchain import find_toolchain
from host_tools.files import write_folder

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.compile import Built
    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip


@contextmanager
def built(ship: OpenedShip, report: Report, core: Path | None = None) -> Iterator[Built]:
    """The compiled sketch, which is gone behind the `with`; with the board makers' `core` if that
    is given. Raises MissingTool (`no-compiler`).
    """
    toolchain = find_toolchain()
    with TemporaryDirectory(prefix="pinrail-") as temporary:
        sketch = Path(temporary) / ship.plan.code
        write_folder(sketch, render(ship.plan, ship.board))
        report.progress(f"compiling with avr-gcc {toolchain.version} ...")
        program = compile_sketch(
            sketch, ship.board, toolchain, Path(temporary) / "out", arduino_core=core
        )
        report.data["compiler"] = f"avr-gcc {toolchain.version}"
        report.say(
            f"compiled {ship.plan.ship} for {ship.board.title} with avr-gcc {toolchain.version}"
        )
        yield program


def fits(ship: OpenedShip, program: Built, report: Report) -> bool:
    """Tells what the program takes of its board, and whether it fits."""
    board = ship.board
    room_bytes = board.flash_bytes - board.bootloader_bytes
    free_bytes = board.ram_bytes - program.ram_bytes - program.stack_bytes
    report.data |= {
        "flash_bytes": program.flash_bytes,
        "flash_room_bytes": room_bytes,
        "ram_bytes": program.ram_bytes,
        "stack_bytes": program.stack_bytes,
        "ram_room_bytes": board.ram_bytes,
    }
    report.say(f"  flash {program.flash_bytes} of {room_bytes} bytes")
    report.say(
        f"  RAM   {program.ram_bytes} of {board.ram_bytes} bytes, "
        f"and at most {program.stack_bytes} of stack: {free_bytes} stay free"
    )
    if program.flash_bytes <= room_bytes and free_bytes >= 0:
        return True
    report.say(f"it does not fit a {board.name}: take a larger board, or fewer functions")
    return False
