"""pinrail papers: everything that is printed, for the bench and beside the transmitter."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from host_tools.cli import DONE
from host_tools.cli.report import Report
from host_tools.cli.ships import add_out, add_ship, open_ship, out_folder
from host_tools.files import check_ours, write_folder

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.ships import OpenedShip
    from host_tools.papers.facts import Facts

EXAMPLE = "pinrail papers launch.yaml --out print --pdf"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    add_out(parser, "the papers' folder")
    parser.add_argument(
        "--paper", choices=("a4", "letter"), default="a4", help="the paper's size (default: a4)"
    )
    parser.add_argument("--pdf", action="store_true", help="make a PDF as well")
    parser.add_argument(
        "--since", type=Path, metavar="OLD", help="an older ship file: mark what changed since then"
    )


def run(options: Namespace, report: Report) -> int:
    """Make the papers."""
    from host_tools.papers import PAGE, PAPERS, papers
    from host_tools.papers.since import changes_in

    ship = open_ship(options.ship, report)
    older = None
    if options.since is not None:
        older = _facts(open_ship(options.since, Report("papers", as_json=True)))
    folder = out_folder(options.out) / f"{ship.plan.code}-papers"
    check_ours(folder)
    made, sheets = papers(_facts(ship), PAPERS[options.paper], older)
    files: dict[str, str | bytes] = dict(made)
    if options.pdf:
        from host_tools.papers.pdf import pdf

        report.progress("making the PDF ...")
        files["papers.pdf"] = pdf(made[PAGE])
    write_folder(folder, files)
    changes = sum(map(changes_in, sheets))
    report.data |= {
        "written": str(folder),
        "files": sorted(files),
        "sheets": [sheet.title for sheet in sheets],
    }
    tables = sum(name.startswith("tables/") for name in files)
    report.say(
        f"wrote {folder}: {len(sheets)} sheets, {tables} tables; print"
        f" {folder / ('papers.pdf' if options.pdf else PAGE)}"
    )
    if older is not None:
        report.data["changes"] = changes
        report.say(f"  {changes} rows and drawings are marked: not as in {options.since}")
    return DONE


def _facts(ship: OpenedShip) -> Facts:
    from host_tools.electrical.of_ship import electrics_of
    from host_tools.papers.facts import Facts

    electrics = electrics_of(ship.ship, ship.plan, ship.board)
    return Facts.of(ship.ship, ship.plan, ship.board, ship.trials, electrics)
