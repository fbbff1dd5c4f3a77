"""pinrail force: one function of a real ship into one of its states, for a few seconds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.diagnostics import ShipError, nearest, show
from gen.plan import TICK_MS
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ports import add_duration, add_port, have_consent, is_simulated, session_on
from host_tools.cli.ships import add_ship, open_ship
from host_tools.link.errors import LinkError

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from pathlib import Path

    from gen.behaviours import Function
    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.link.session import Session
    from host_tools.link.watch import Watch

EXAMPLE = "pinrail force tender.yaml horn on --port /dev/ttyUSB0 --for 2s"

LASTS_S = 2.0
MOST_S = 9.0
"""The board ends a force 10 s after it was armed."""
ENDS_EARLY_S = 0.2
"""By how much a force may be too short without anything being wrong: lines take their time."""


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    parser.add_argument("function", metavar="FUNCTION", help="its name in the ship file")
    parser.add_argument("state", metavar="STATE", help="what to force it into: on, lowering, ...")
    add_port(parser)
    add_duration(parser, f"how long, {MOST_S:g} s at most (default: {LASTS_S:g} s)")
    parser.add_argument("--yes", action="store_true", help="nothing and nobody is in its way")


def run(options: Namespace, report: Report) -> int:
    """Arm, force, keep it up, let go, and tell what became of it."""
    from host_tools.link.identity import check_bench, check_plan
    from host_tools.link.watch import Watch

    plan = open_ship(options.ship, report).plan
    index, state = _named(options, plan)
    function = plan.functions[index]
    lasts_s = min(options.lasts_s or LASTS_S, MOST_S)
    watch = Watch(plan)
    with session_on(options.port, watch.hear) as session:
        check_plan(session.open(), plan, str(options.ship))
        check_bench(session.who(), plan.bench.jumper if plan.bench is not None else "")
        doing = f"forcing {function.name} {function.forces[state]}"
        if function.moves and not is_simulated(session.port.name):
            have_consent(report, doing, [function.name], yes=options.yes)
        report.say(f"{doing} for {lasts_s:g} s; Ctrl-C ends it")
        _force(session, plan, (index, state), lasts_s)
    return _tell(report, function, (index, state), lasts_s, watch)


def _force(session: Session, plan: Plan, force: tuple[int, int], lasts_s: float) -> None:
    """Raises LinkError (`board-refused`)."""
    from host_tools.link.barred import why_barred
    from host_tools.link.session import Refused

    function, state = force
    session.keep_alive = True
    try:
        session.ask(f"arm {function}")
        session.ask(f"force {function} {state}")
        try:
            session.run(lasts_s)
        finally:
            session.ask("free")
            session.run(0.1)
    except Refused as refused:
        barred = refused.reason == "rule"
        words = why_barred(plan, function, state) if barred else str(refused)
        raise LinkError("board-refused", words, board_fell_short=True) from refused
    finally:
        session.keep_alive = False


def _tell(
    report: Report, function: Function, force: tuple[int, int], lasts_s: float, watch: Watch
) -> int:
    index, state = force
    wanted = function.forces[state]
    seen = watch.seen(index)
    report.data |= {"function": function.name, "state": wanted, "seen": seen}
    report.say("\n".join(f"  {one}" for one in seen) or "  the board told of no tick under force")
    lasted_s = watch.lasted(index) * TICK_MS / 1000
    if seen and lasted_s < lasts_s - ENDS_EARLY_S:
        report.say(f"the board ended it after {lasted_s:.1f} s: another function or the battery")
        return FELL_SHORT
    if watch.reached(index, state):
        report.say(f"{function.name} was {wanted}, and is free again")
        return DONE
    report.say(f"{function.name} did not get there: a condition, a limit or the battery kept it")
    return FELL_SHORT


def _named(options: Namespace, plan: Plan) -> tuple[int, int]:
    """The function and the number of its state. Raises ShipError (`unknown-name`)."""
    names = [function.name for function in plan.functions]
    if options.function not in names:
        raise _unknown(options.ship, "there is no such function", options.function, names)
    index = names.index(options.function)
    forces = plan.functions[index].forces
    if options.state not in forces:
        what = f"function {show(options.function)} cannot be forced into that"
        raise _unknown(options.ship, what, options.state, forces)
    return index, forces.index(options.state)


def _unknown(ship: Path, what: str, got: str, known: list[str] | tuple[str, ...]) -> ShipError:
    return ShipError.about(
        str(ship),
        "unknown-name",
        what,
        got=show(got),
        expected=", ".join(known),
        hint=nearest(got, known, most_listed=0),
    )
