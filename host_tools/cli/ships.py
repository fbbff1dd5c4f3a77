"""What several commands share: the ship file they take, the folder they write to, the rung."""

from __future__ import annotations

from argparse import ArgumentTypeError
from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError, nearest, show
from gen.resources import resource
from host_tools.files import check_only_ours
from host_tools.opened import OpenedShip, opened_file
from host_tools.rungs import RUNGS, is_port

__all__ = [
    "OpenedShip",
    "about",
    "add_out",
    "add_rung",
    "add_rung_or_port",
    "add_ship",
    "open_ship",
    "out_folder",
    "starter",
    "starters",
    "where",
]

if TYPE_CHECKING:
    from argparse import ArgumentParser
    from collections.abc import Sequence

    from host_tools.cli.report import Report

_RUNG_WORDS = {
    "model": "in Python",
    "logic": "the sketch's logic, compiled for this computer",
    "firmware": "the whole sketch in a simulated chip",
    "proof": "the tick as proofs reason about it",
}


def add_ship(parser: ArgumentParser, *, needed: bool = True) -> None:
    """The argument that names the ship file."""
    how_many = None if needed else "?"
    parser.add_argument("ship", type=Path, nargs=how_many, metavar="SHIP", help="the ship file")


def add_out(parser: ArgumentParser, what: str) -> None:
    """The option that names the folder to write to."""
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help=f"where to put {what} (default: the current folder)"
    )


def add_rung(parser: ArgumentParser, rungs: Sequence[str] = RUNGS) -> None:
    """The option that names the rung to run on; the first one is taken by itself."""
    told = ", ".join(f"{name}: {_RUNG_WORDS[name]}" for name in rungs)
    parser.add_argument(
        "--on", choices=rungs, default=rungs[0], help=f"{told} (default: {rungs[0]})"
    )


def add_rung_or_port(parser: ArgumentParser) -> None:
    """The option that names the rung to run on, or the port of a board, and consent to move it."""
    told = ", ".join(f"{name}: {_RUNG_WORDS[name]}" for name in RUNGS)
    parser.add_argument(
        "--on",
        type=_rung_or_port,
        default=RUNGS[0],
        metavar="RUNG|PORT",
        help=f"{told}, or the port of a board that runs this ship (default: {RUNGS[0]})",
    )
    parser.add_argument(
        "--yes", action="store_true", help="on a board: nothing and nobody is in its way"
    )


def where(on: str) -> str:
    """A rung, or a port, as it stands in a sentence."""
    return on if is_port(on) else f"the {on}"


def _rung_or_port(text: str) -> str:
    if text in RUNGS or is_port(text):
        return text
    expected = f"expected {', '.join(RUNGS)} or a port such as /dev/ttyUSB0"
    raise ArgumentTypeError(f"{show(text)} is no rung and no port ({expected})")


def open_ship(path: Path, report: Report) -> OpenedShip:
    """Read a ship file and its trials; warnings are told. Raises ShipError with all errors."""
    ship = opened_file(path)
    report.problems(ship.warnings)
    report.data |= {"ship": ship.plan.ship, "plan": ship.plan.plan_id, "file": str(path)}
    return ship


def out_folder(out: Path | None) -> Path:
    """The folder to write to. One that was named must hold nothing but what Pinrail wrote, so
    that whatever is put there can be found and thrown away; the current folder may hold anything.

    Raises ShipError (`not-ours`).
    """
    if out is None or (out.is_dir() and out.samefile(Path())):
        return Path()
    check_only_ours(out)
    return out


def starters() -> dict[str, Path]:
    """The starter ships by name."""
    found = {path.stem: path for path in (resource("templates") / "ships").glob("*.yaml")}
    return dict(sorted(found.items()))


def starter(name: str) -> Path:
    """One starter. Raises ShipError (`unknown-name`) when there is none of that name."""
    known = starters()
    if name not in known:
        raise ShipError.about(
            "pinrail",
            "unknown-name",
            "there is no such starter",
            got=show(name),
            expected=", ".join(known),
            hint=nearest(name, known, most_listed=0),
        )
    return known[name]


def about(path: Path) -> str:
    """The first comment of a ship file: what it is."""
    with path.open(encoding="utf-8") as stream:
        return stream.readline().removeprefix("#").strip()
