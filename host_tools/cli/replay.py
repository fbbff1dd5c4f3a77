"""pinrail replay: a recorded trace through the ship as it is now."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gen.diagnostics import ShipError, show
from host_tools.cli import DONE
from host_tools.cli.ports import agree_to_play
from host_tools.cli.ships import add_rung_or_port, add_ship, open_ship, where
from host_tools.files import write_file
from host_tools.formats.outputs import beside_pulses
from host_tools.formats.read_table import read_trace
from host_tools.formats.write_table import format_trace
from host_tools.rungs import is_port, open_rung
from host_tools.sensing import rest_reading
from host_tools.states import Doing, show_duration

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.record import Record, Rung
    from host_tools.trace import Trace

MOST_TICKS = 1 << 25
"""What is replayed at once, 46 hours: every tick's outputs are kept in memory."""

EXAMPLE = "pinrail replay launch.yaml evening.trace --plot evening.png"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    add_ship(parser)
    parser.add_argument("trace", type=Path, metavar="TRACE", help="the trace file")
    add_rung_or_port(parser)
    parser.add_argument(
        "--plot",
        type=Path,
        metavar="PLACE",
        help="draw it as SVG and PNG into this folder, or under this file name",
    )
    parser.add_argument(
        "--save",
        type=Path,
        metavar="FILE",
        help="write the trace again, with what was driven beside the pulses",
    )


def run(options: Namespace, report: Report) -> int:
    """Replay the trace and tell what each function did."""
    ship = open_ship(options.ship, report)
    plan = ship.plan
    recorded = read_trace(options.trace)
    check_length(recorded, str(options.trace))
    trace = in_plan_order(recorded, plan, str(options.trace))
    if trace.plan_id and trace.plan_id != plan.plan_id:
        report.say(f"note: the trace was made with plan {trace.plan_id}, this is {plan.plan_id}")
    if recorded.has_forces and plan.bench is None:
        report.say("note: this ship has no bench, so nothing is forced")
    if is_port(options.on):
        check_ship(trace, plan, str(options.trace))
        agree_to_play(report, options.on, plan, yes=options.yes)
    report.progress(f"replaying {show_duration(trace.ticks)} on {where(options.on)} ...")
    with open_rung(options.on, plan, ship.board) as rung:
        record = outputs_of(rung, trace)
    report.say(f"replayed {show_duration(trace.ticks)} of {options.trace} on {where(options.on)}")
    _tell_functions(plan, record, report)
    if options.plot:
        from host_tools.cli.pictures import draw_picture

        stem = _stem(options.plot, options.trace)
        written = draw_picture(plan, record, (), options.on, stem)
        report.data["pictures"] = [str(path) for path in written]
        report.say("drew " + " and ".join(map(str, written)))
    if options.save:
        write_file(options.save, format_trace(*beside_pulses(plan, record)), replace=False)
        report.data["saved"] = str(options.save)
        report.say(f"wrote {options.save}")
    return DONE


def outputs_of(rung: Rung, trace: Trace) -> Record:
    """A record of which only the outputs are wanted: the model is then many times faster."""
    from host_tools.model import Model

    return rung.run(trace, digests=False) if isinstance(rung, Model) else rung.run(trace)


def check_length(trace: Trace, file: str) -> None:
    """Raises ShipError (`trace-large`) for a trace that lasts too long to be replayed at once."""
    if trace.ticks > MOST_TICKS:
        raise ShipError.about(
            file,
            "trace-large",
            "the trace lasts too long to be replayed at once",
            got=show_duration(trace.ticks),
            expected=f"at most {show_duration(MOST_TICKS)}",
        )


def check_ship(trace: Trace, plan: Plan, file: str) -> None:
    """Raises ShipError (`other-ship`) for a trace that was made with another ship."""
    if trace.ship and trace.ship != plan.ship:
        raise ShipError.about(
            file,
            "other-ship",
            "the trace belongs to another ship, and a board would move what it says",
            got=show(trace.ship),
            expected=show(plan.ship),
        )


def in_plan_order(trace: Trace, plan: Plan, file: str) -> Trace:
    """The same pulses with the plan's inputs in the plan's order.

    Raises ShipError (`other-channels`) when they are not the same inputs.
    """
    wanted = tuple(one.name for one in plan.inputs)
    if sorted(trace.channels) != sorted(wanted):
        missing = sorted(set(wanted) - set(trace.channels))
        extra = sorted(set(trace.channels) - set(wanted))
        raise ShipError.about(
            file,
            "other-channels",
            "the trace's channels are not those of the ship file",
            got=", ".join(extra) or "none for " + ", ".join(missing),
            expected=", ".join(wanted),
        )
    order = [trace.channels.index(name) for name in wanted]
    # A trace that says nothing of a sensor leaves it where nothing is set off.
    rests = [
        (0, index, rest_reading(plan, index))
        for index, name in enumerate(sensor.name for sensor in plan.sensors)
        if name not in trace.sensors and trace.ticks
    ]
    ticks, columns, readings = (part.tolist() for part in trace.felt)
    felt = [
        (tick, plan.readings.index(trace.sensors[column]), reading)
        for tick, column, reading in zip(ticks, columns, readings, strict=True)
        if trace.sensors[column] in plan.readings
    ]
    pulses = replace(trace, channels=wanted, widths_half_us=trace.widths_half_us[:, order])
    if not plan.readings:
        return _unfelt(pulses)
    return pulses.with_readings(plan.readings, [*rests, *felt])


def _unfelt(trace: Trace) -> Trace:
    return replace(trace, sensors=(), readings=np.zeros((trace.rows, 0), np.uint16))


def _tell_functions(plan: Plan, record: Record, report: Report) -> None:
    doing = Doing(plan, record)
    told = []
    for function in plan.functions:
        busy = doing.state(function) > 0
        started = int(np.count_nonzero(busy[1:] & ~busy[:-1])) + bool(busy[:1].any())
        told.append(
            {"function": function.name, "times": started, "ticks": int(np.count_nonzero(busy))}
        )
        if started:
            times = "once" if started == 1 else f"{started} times"
            report.say(f"  {function.name}: {times}, {show_duration(int(busy.sum()))} in all")
    report.data |= {"ticks": record.ticks, "functions": told}
    still = [str(one["function"]) for one in told if not one["times"]]
    if still:
        report.say(f"  at rest throughout: {', '.join(still)}")


def _stem(plot: Path, trace: Path) -> Path:
    if plot.suffix.lower() in (".png", ".svg"):
        return plot.with_suffix("")
    return plot / trace.stem
