"""pinrail demo: the whole walk with a starter, a line a step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.render import render
from gen.toolchain import MissingTool
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.new import FIRST
from host_tools.cli.pictures import draw_picture, picture_files
from host_tools.cli.report import Report
from host_tools.cli.ships import OpenedShip, about, add_out, open_ship, out_folder, starter
from host_tools.cli.trial import try_all
from host_tools.files import check_ours, refuse_existing, write_file, write_folder
from host_tools.record import RungUnavailable
from host_tools.rungs import RUNGS, open_rung
from host_tools.trial import answer, marks, script

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from pathlib import Path

    from gen.read.steps import Trial

EXAMPLE = "pinrail demo --out try-it"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "starter", nargs="?", default=FIRST, metavar="STARTER", help=f"which one (default: {FIRST})"
    )
    add_out(parser, "everything")


def run(options: Namespace, report: Report) -> int:
    """New, check, sketch, trial on every rung there is, picture."""
    source = starter(options.starter)
    out = out_folder(options.out)
    file = out / source.name
    ship = open_ship(source, Report("demo", as_json=True))
    sketch = out / ship.plan.code
    picture = out / f"{ship.plan.code}-timeline"
    # Nothing is written before it is clear that everything can be.
    refuse_existing(file, *picture_files(picture))
    check_ours(sketch)

    write_file(file, source.read_text(encoding="utf-8"), replace=False)
    report.say(f"new     wrote {file}: {about(source)}")
    ship = open_ship(file, report)
    plan = ship.plan
    report.say(
        f"check   {plan.ship}: {len(plan.functions)} functions, no mistake, plan {plan.plan_id}"
    )
    write_folder(sketch, render(plan, ship.board))
    report.say(f"sketch  wrote {sketch}, for {ship.board.title}")
    failed = _try_rungs(ship, report)
    drawn = _draw(ship, picture, report)
    ends = [str(sketch / f"{plan.code}.ino"), *drawn]
    report.data |= {"sketch": ends[0], "picture": drawn}
    report.say("\n".join(ends))
    report.say(f"next    pinrail bench {file}: the ship on a page, to be worked with the mouse")
    return FELL_SHORT if failed else DONE


def _try_rungs(ship: OpenedShip, report: Report) -> int:
    failed = 0
    results: dict[str, object] = {}
    report.data["rungs"] = results
    for name in RUNGS:
        report.progress(f"trial   running {len(ship.trials)} trials on the {name} ...")
        quiet = Report("trial", as_json=True)
        try:
            short = try_all(ship, ship.trials, name, quiet)
        except (MissingTool, RungUnavailable) as missing:
            results[name] = str(missing)
            report.say(f"trial   left out on the {name}: {missing}")
            continue
        failed += short
        results[name] = quiet.data["trials"]
        passed = len(ship.trials) - short
        report.say(f"trial   {passed} of {len(ship.trials)} passed on the {name}")
    return failed


def _draw(ship: OpenedShip, stem: Path, report: Report) -> list[str]:
    trial = _liveliest(ship)
    scripted = script(ship.plan, trial)
    with open_rung("model", ship.plan, ship.board) as rung:
        record = answer(rung, scripted)
    report.progress("picture ...")
    try:
        files = draw_picture(ship.plan, record, marks(scripted), "model", stem)
    except MissingTool as missing:
        report.say(f"picture left out: {missing.what} ({missing.hint})")
        return []
    report.say(f"picture drew the trial '{trial.name}'")
    return [str(path) for path in files]


def _liveliest(ship: OpenedShip) -> Trial:
    """The trial with the most to see: the one with the most kinds of step, then the most steps."""
    return max(ship.trials, key=lambda one: (len({type(s) for s in one.steps}), len(one.steps)))
