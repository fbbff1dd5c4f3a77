"""pinrail identify: what runs on this board, and which ship file it was made from."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gen import __version__
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ports import add_port, session_on

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report
    from host_tools.link.identity import Identity

EXAMPLE = "pinrail identify --port /dev/ttyUSB0 --in ships"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_port(parser)
    parser.add_argument(
        "--in",
        dest="folder",
        type=Path,
        metavar="FOLDER",
        help="a folder under version control (git): find the ship file and the commit",
    )


def run(options: Namespace, report: Report) -> int:
    """Ask the board, then look for its plan."""
    if options.folder is not None:
        from host_tools.history import check_repository

        check_repository(options.folder)
    with session_on(options.port, lambda _: None) as session:
        report.progress(f"asking the board on {session.port.name} ...")
        identity = session.open()
    report.data |= identity.as_json()
    report.say("\n".join(identity.told()))
    if options.folder is None:
        return DONE
    return _look(options.folder, identity, report)


def _look(folder: Path, identity: Identity, report: Report) -> int:
    from host_tools.history import versions_with

    def progress(done: int, of: int) -> None:
        report.progress(f"looked at {done} of {of} versions of ship files")

    found = versions_with(folder, identity.plan_id, progress)
    report.data["versions"] = [one.as_json() for one in found]
    if not found:
        other = identity.maker not in ("", __version__)
        report.say(
            f"no ship file in {folder}, as it is or ever was, has plan {identity.plan_id}"
            + (f" (the board's is by pinrail {identity.maker}, this is {__version__})" * other)
        )
        return FELL_SHORT
    for one in found:
        report.say(f"  {one.told()}")
    return DONE
