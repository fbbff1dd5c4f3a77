"""pinrail compile: the program for the board, and what it takes of it."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from gen.compile import ARDUINO_CORE, compile_sketch
from gen.render import render
from gen.toolchain import MissingTool, find_toolchain
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ships import add_out, add_ship, open_ship, out_folder
from host_tools.files import check_ours, write_folder

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report

EXAMPLE = "pinrail compile launch.yaml --out build"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_out(parser, "the folder with the program")
    parser.add_argument(
        "--core",
        type=Path,
        nargs="?",
        const=ARDUINO_CORE,
        metavar="FOLDER",
        help=f"compile with the board makers' core, as their tool does (default: {ARDUINO_CORE})",
    )


def run(options: Namespace, report: Report) -> int:
    """Compile in a folder that is thrown away, and keep the program."""
    ship = open_ship(options.ship, report)
    plan, board = ship.plan, ship.board
    folder = out_folder(options.out) / f"{plan.code}-{board.name}"
    check_ours(folder)
    if options.core and not (options.core / "cores").is_dir():
        raise MissingTool(
            "no-core",
            f"the board makers' core is not at {options.core}",
            "on Debian: apt-get install arduino-core-avr; or give its folder after --core",
        )
    toolchain = find_toolchain()
    with TemporaryDirectory(prefix="pinrail-") as temporary:
        sketch = Path(temporary) / plan.code
        write_folder(sketch, render(plan, board))
        report.progress(f"compiling with avr-gcc {toolchain.version} ...")
        built = compile_sketch(
            sketch, board, toolchain, Path(temporary) / "out", arduino_core=options.core
        )
        files = {path.name: path.read_bytes() for path in (built.elf, built.hex)}
    write_folder(folder, files)

    room_bytes = board.flash_bytes - board.bootloader_bytes
    free_bytes = board.ram_bytes - built.ram_bytes - built.stack_bytes
    report.data |= {
        "written": str(folder),
        "compiler": f"avr-gcc {toolchain.version}",
        "flash_bytes": built.flash_bytes,
        "flash_room_bytes": room_bytes,
        "ram_bytes": built.ram_bytes,
        "stack_bytes": built.stack_bytes,
        "ram_room_bytes": board.ram_bytes,
    }
    report.say(f"compiled {plan.ship} for {board.title} with avr-gcc {toolchain.version}")
    report.say(f"  flash {built.flash_bytes} of {room_bytes} bytes")
    report.say(
        f"  RAM   {built.ram_bytes} of {board.ram_bytes} bytes, "
        f"and at most {built.stack_bytes} of stack: {free_bytes} stay free"
    )
    report.say(f"wrote {folder / built.hex.name}")
    if built.flash_bytes > room_bytes or free_bytes < 0:
        report.say(f"it does not fit a {board.name}: take a larger board, or fewer functions")
        return FELL_SHORT
    return DONE
