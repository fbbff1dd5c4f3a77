"""pinrail prove: what the ship can and cannot do, for every movement of every thumb, for ever."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from gen.codes import CODES
from gen.toolchain import MissingTool
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ships import add_out, add_ship, open_ship, where
from host_tools.files import free_name, plain_stem, write_file
from host_tools.formats.write_table import format_trace
from host_tools.rungs import RUNGS, open_rung

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip
    from host_tools.prove.obligations import Outcome

EXAMPLE = "pinrail prove launch.yaml"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    parser.add_argument(
        "--only",
        action="append",
        metavar="WORDS",
        help="only what has these words in it, such as a function's name; may be given repeatedly",
    )
    parser.add_argument(
        "--on",
        choices=RUNGS,
        default="logic",
        help="down to which rung a refutation is replayed before it is told (default: logic)",
    )
    parser.add_argument("--all", action="store_true", help="tell what is proved, too")
    add_out(parser, "the traces of what is refuted")


def run(options: Namespace, report: Report) -> int:
    """Prove everything, and replay what is refuted."""
    ship = open_ship(options.ship, report)
    try:
        from host_tools.prove.obligations import NOTED, PROVED, REFUTED, UNDECIDED
        from host_tools.prove.of_ship import ship_outcomes
    except ModuleNotFoundError as error:
        raise MissingTool(
            "no-solver",
            f"proofs need a solver that is not installed (no module {error.name})",
            CODES["no-solver"].remedy,
        ) from error
    began = time.monotonic()
    counts = {PROVED: 0, REFUTED: 0, UNDECIDED: 0, NOTED: 0}
    told: list[dict[str, object]] = []
    report.data |= {"obligations": told, "on": options.on}
    for outcome in ship_outcomes(ship.ship, ship.plan, ship.board, ship.rules, options.only or ()):
        counts[outcome.verdict] += 1
        report.progress(f"{sum(counts.values())} decided: {outcome.text}")
        entry = _as_json(outcome)
        told.append(entry)
        if outcome.verdict != PROVED or options.all:
            report.say(_in_words(outcome, options.ship))
        if outcome.refutation is not None:
            entry |= _replayed(ship, outcome, options, report)
    seconds = time.monotonic() - began
    report.data |= {"counts": counts, "seconds": round(seconds, 2)}
    report.say(
        f"{counts[PROVED]} proved, {counts[REFUTED]} refuted, {counts[UNDECIDED]} undecided,"
        f" {counts[NOTED]} noted, in {seconds:.1f} s"
    )
    if not told:
        report.say("nothing has these words in it: nothing was proved")
        return FELL_SHORT
    return FELL_SHORT if counts[REFUTED] or counts[UNDECIDED] else DONE


def _in_words(outcome: Outcome, file: Path) -> str:
    place = f"{file}:{outcome.source_line}: " if outcome.source_line else ""
    return f"{outcome.verdict:<9} {place}{outcome.text} ({outcome.how}; {outcome.seconds:.2f} s)"


def _as_json(outcome: Outcome) -> dict[str, object]:
    entry: dict[str, object] = {
        "kind": outcome.kind,
        "text": outcome.text,
        "line": outcome.source_line,
        "verdict": outcome.verdict,
        "how": outcome.how,
        "seconds": round(outcome.seconds, 3),
    }
    if outcome.verdict == "undecided":
        entry["certain_ticks"] = outcome.certain_ticks
    return entry


def _replayed(
    ship: OpenedShip, outcome: Outcome, options: Namespace, report: Report
) -> dict[str, object]:
    """Tells a refutation once the rungs below the model did the same."""
    from host_tools.prove.confirm import confirmed

    refuted = outcome.refutation
    assert refuted is not None  # noqa: S101 - who calls has looked
    seen = ["model"]
    entry: dict[str, object] = {}
    for name in RUNGS[1 : RUNGS.index(options.on) + 1]:
        report.progress(f"replaying it on {where(name)} ...")
        with open_rung(name, ship.plan, ship.board) as rung:
            if refuted.trace.has_forces and not rung.takes_forces:
                report.say(f"  {where(name)} takes no forces from a trace: not replayed there")
                break
            apart = confirmed(ship.plan, rung, refuted)
        if apart is not None:
            report.say(f"  {where(name)} does something else: {apart}; that is a fault in Pinrail")
            entry["apart"] = {"on": name, "what": apart}
            break
        seen.append(name)
    plain = plain_stem(outcome.text, "claim")[:60]
    path = free_name(options.out or Path(), f"{ship.plan.code}-refuted-{plain}", ".trace")
    write_file(path, format_trace(refuted.trace), replace=False)
    falls_short = "as a trial, which falls short" if refuted.trial is not None else "step by step"
    shortest = "; no wait in it can be a tick shorter" if refuted.to_the_tick else ""
    report.say(f"  {falls_short}; seen on {', '.join(seen)}{shortest}:")
    for step in refuted.steps:
        report.say(f"    - {step}")
    report.say(f"  its pulses: {path}")
    told = {"steps": list(refuted.steps), "tick": refuted.tick, "trace": str(path), "seen": seen}
    return entry | told | {"to_the_tick": refuted.to_the_tick}
