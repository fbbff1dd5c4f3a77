"""pinrail record: what the receiver says, and what the board does with it, into a trace."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ports import TICKS_A_SECOND, add_duration, add_port, session_on
from host_tools.cli.ships import open_ship
from host_tools.files import refuse_existing, write_file
from host_tools.formats.outputs import beside_pulses
from host_tools.formats.write_table import format_trace
from host_tools.link.errors import LinkError
from host_tools.states import show_duration

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.link.identity import Identity
    from host_tools.link.recorder import Part

EXAMPLE = "pinrail record launch.yaml --port /dev/ttyUSB0 --for 5min --save evening.trace"


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "ship",
        type=Path,
        nargs="?",
        metavar="SHIP",
        help="the ship file: its names for the channels, and what was driven",
    )
    add_port(parser)
    parser.add_argument(
        "--save", type=Path, required=True, metavar="FILE", help="the trace file to write"
    )
    add_duration(parser, "how long (default: until Ctrl-C)")


def run(options: Namespace, report: Report) -> int:
    """Record until the time is over, Ctrl-C, or the cable is pulled; save what there is."""
    from host_tools.link.recorder import Recorder

    plan = open_ship(options.ship, report).plan if options.ship else None
    refuse_existing(options.save)
    recorder = Recorder()
    stopped = ""
    with session_on(options.port, recorder.stream.hear) as session:
        recorder.stream.dropped_here = lambda: session.dropped
        identity = session.open()
        if plan is not None and not identity.is_recorder:
            from host_tools.link.identity import check_plan

            check_plan(identity, plan, str(options.ship))
        report.say(f"recording {identity.ship or 'a recorder'} from {session.port.name}")
        begin = session.now()
        try:
            while options.lasts_s is None or session.now() - begin < options.lasts_s:
                session.run(0.2)
                report.progress(_progress(recorder.part))
        except KeyboardInterrupt:
            stopped = "stopped by Ctrl-C"
        except LinkError as error:
            if error.code != "port-gone":
                raise
            stopped = error.what
            report.fault(error.code, error.what, error.hint)
    parts = recorder.finish()
    if plan is not None and identity.is_recorder:
        report.say("a recorder knows no outputs: only what was heard is saved")
    _save(parts, identity, plan, options.save, report)
    report.data |= {"stopped": stopped or "the time is over", "dropped": recorder.dropped}
    if recorder.dropped:
        report.say(f"{recorder.dropped} lines were lost on the way: there are gaps")
    return FELL_SHORT if "gone" in stopped or not parts else DONE


def _progress(part: Part) -> str:
    return (
        f"recorded {show_duration(part.recording.ticks)}, {part.recording.pulses:,} pulses, "
        f"{part.dropped} lines lost"
    )


def _save(
    parts: list[Part], identity: Identity, plan: Plan | None, path: Path, report: Report
) -> None:
    from host_tools.link.recorder import names_for

    saved = []
    for number, part in enumerate(parts):
        file = path if number == 0 else path.with_stem(f"{path.stem}-{number + 1}")
        names = names_for(identity, plan)
        kept = identity.kept if number == 0 and part.from_power_up else b""
        source = f"recorded from {names.ship or 'a recorder'}" + (
            ", with gaps" * bool(part.dropped)
        )
        if plan is not None and not identity.is_recorder:
            text = format_trace(*beside_pulses(plan, part.recording.record(plan, source, kept)))
        else:
            text = format_trace(part.recording.trace(names, source, kept))
        write_file(file, text, replace=False)
        lasted = show_duration(part.recording.ticks)
        report.say(
            f"wrote {file}: {lasted}, {part.recording.pulses:,} pulses"
            + (f", up to tick {part.recording.ticks - 1}" if part.recording.ticks else "")
        )
        saved.append(
            {
                "file": str(file),
                "ticks": part.recording.ticks,
                "seconds": part.recording.ticks / TICKS_A_SECOND,
                "pulses": part.recording.pulses,
                "from_power_up": part.from_power_up,
                "dropped": part.dropped,
            }
        )
    report.data["saved"] = saved
    if not parts:
        report.say("nothing was heard, nothing was written")
