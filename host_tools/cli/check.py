"""pinrail check: every mistake in a ship file, all at once, and what is unsafe to wire."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from gen.plan import TICK_MS
from gen.resources import resource
from gen.response import FRAME_MS, press_ticks, release_ticks
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ships import add_ship, open_ship
from host_tools.kept import wear

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.cli.ships import OpenedShip

EXAMPLE = "pinrail check launch.yaml"


class _PrintSchema(argparse.Action):
    """Prints the ship file's JSON Schema in place of checking one."""

    def __call__(self, parser: ArgumentParser, *_: Any) -> None:
        print((resource("templates") / "ship.schema.json").read_text(encoding="utf-8"), end="")
        parser.exit()


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    parser.add_argument(
        "--schema",
        action=_PrintSchema,
        nargs=0,
        help="print the JSON Schema of ship files, by which an editor completes and checks them",
    )


def run(options: Namespace, report: Report) -> int:
    """Read and resolve the ship file and its trials, and make its electrical sums."""
    ship = open_ship(options.ship, report)
    plan = ship.plan
    counts = {
        "channels": len(plan.channels),
        "controls": len(plan.controls),
        "functions": len(plan.functions),
        "trials": len(ship.trials),
    }
    report.data |= {"board": plan.board, **counts}
    told = ", ".join(
        f"{count} {what if count != 1 else what.removesuffix('s')}"
        for what, count in counts.items()
    )
    report.say(f"{options.ship}: {plan.ship} is well formed: {told} on a {plan.board}")
    for line, told_of in shared_channels(plan):
        report.say(line)
        report.data.setdefault("shared channels", []).append(told_of)
    report.say(f"plan {plan.plan_id}")
    if plan.kept_bytes:
        report.say(wear(plan, ship.board))
    return electrical(ship, report)


def electrical(ship: OpenedShip, report: Report) -> int:
    """What the electrical sums find wrong with a ship that tells of its supplies; what is unsafe
    falls short."""
    if not ship.ship.supplies:
        return DONE
    from host_tools.electrical.of_ship import electrics_of
    from host_tools.electrical.told import problems_of

    made = electrics_of(ship.ship, ship.plan, ship.board)
    report.problems(problems_of(made, str(ship.path)))
    unsafe = sum(finding.is_error for finding in made.findings)
    if unsafe:
        report.say(f"{unsafe} electrical {'fault' if unsafe == 1 else 'faults'}: not safe to wire")
    return FELL_SHORT if unsafe else DONE


def shared_channels(plan: Plan) -> Iterator[tuple[str, dict[str, object]]]:
    """How fast each shared channel answers, in words and for machines: its slowest control."""
    for index, channel in enumerate(plan.channels):
        controls = [control for control in plan.controls if control.channel == index]
        if channel.sharing is None or not controls:
            continue
        press_ms, release_ms, cycle_ms = (
            max(press_ticks(plan, control) for control in controls) * TICK_MS,
            max(release_ticks(plan, control) for control in controls) * TICK_MS,
            channel.sharing.cycle_frames * FRAME_MS,
        )
        told = f"{channel.name}: at {FRAME_MS} ms a frame a press is answered within {press_ms} ms"
        yield (
            f"{told}, a release within {release_ms} ms; a lost cycle adds {cycle_ms} ms",
            {
                "channel": channel.name,
                "press_ms": press_ms,
                "release_ms": release_ms,
                "cycle_ms": cycle_ms,
            },
        )
