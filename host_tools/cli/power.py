"""pinrail power: what flows where, the fuses and wires that it takes, how long a battery lasts."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError, nearest, show
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ships import add_ship, open_ship

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip
    from host_tools.electrical.electrics import Electrics
    from host_tools.electrical.of_ship import Run

EXAMPLE = "pinrail power salvor.yaml --explain davit"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    from host_tools.cli.power_tables import TABLES, USUAL

    add_ship(parser)
    parser.add_argument(
        "--table",
        action="append",
        choices=(*TABLES, "all"),
        help=f"only this table, or all; may be given repeatedly (default: {', '.join(USUAL)})",
    )
    parser.add_argument(
        "--explain",
        metavar="NAME",
        help="how every figure of a supply, load, connector … was come by",
    )
    parser.add_argument(
        "--trial", metavar="NAME", help="typical currents, and endurance, from what this trial does"
    )
    parser.add_argument(
        "--trace", type=Path, metavar="FILE", help="the same from a recorded trace, such as a day's"
    )


def run(options: Namespace, report: Report) -> int:
    """Add it all up and tell it."""
    from host_tools.electrical.of_ship import electrics_of
    from host_tools.electrical.told import problems_of

    ship = open_ship(options.ship, report)
    made = electrics_of(ship.ship, ship.plan, ship.board, _run(options, ship, report))
    if options.explain is not None:
        _explain(options.explain, made, options.ship, report)
        return DONE
    problems = problems_of(made, str(options.ship))
    _tell(made, options.table, report)
    report.problems(problems)
    for missing in made.missing:
        report.say(f"not summed: {missing}")
    unsafe = any(finding.is_error for finding in made.findings)
    return FELL_SHORT if unsafe else DONE


def _tell(made: Electrics, asked: list[str] | None, report: Report) -> None:
    from host_tools.cli.power_json import as_json
    from host_tools.cli.power_tables import TABLES, USUAL

    names = asked or USUAL
    if "all" in names:
        names = list(TABLES)
    for name in names:
        lines = list(TABLES[name](made))
        if len(lines) > 2:
            report.say("\n".join(lines) + "\n")
    report.data["power"] = as_json(made)


def _run(options: Namespace, ship: OpenedShip, report: Report) -> Run | None:
    """What typical currents are taken from, run on the model."""
    if options.trial is None and options.trace is None:
        return None
    from host_tools.electrical.of_ship import Run
    from host_tools.model import Model

    model = Model(ship.plan)
    if options.trial is not None and options.trace is not None:
        what = "either a trial or a trace can be taken"
        raise ShipError.about(str(options.ship), "usage", what)
    if options.trace is not None:
        from host_tools.cli.replay import in_plan_order
        from host_tools.formats.read_table import read_trace

        trace = in_plan_order(read_trace(options.trace), ship.plan, str(options.trace))
        report.progress("running the trace ...")
        return Run(model.run(trace, digests=False), f"trace {options.trace.name}")
    from host_tools.trial import answer, script

    (trial,) = ship.trials_named([options.trial])
    record = answer(model, script(ship.plan, trial))
    return Run(record, f"trial {show(options.trial)}")


def _explain(name: str, made: Electrics, file: Path, report: Report) -> None:
    from host_tools.electrical.explain import explained, known

    lines = explained(made, name)
    if not lines:
        names = known(made)
        raise ShipError.about(
            str(file),
            "unknown-name",
            "there are no figures of this name",
            got=show(name),
            hint=nearest(name, names, most_listed=30),
        )
    report.data["explained"] = {"name": name, "lines": list(lines)}
    report.say("\n".join(lines))
