"""pinrail learn: from what a receiver says to the sections of a ship file that describe it."""

from __future__ import annotations

import sys
from argparse import ArgumentTypeError
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.ports import add_port, session_on
from host_tools.files import refuse_existing, write_file

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from host_tools.cli.report import Report
    from host_tools.learn.learned import Learned
    from host_tools.learn.recording import Recording
    from host_tools.learn.steps import Step
    from host_tools.learn.text import Sections
    from host_tools.learn.totals import SumFound
    from host_tools.trace import Trace

EXAMPLE = 'pinrail learn --port /dev/ttyUSB0 --move "deck key" --save radio.trace --plot radio'


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "traces",
        type=Path,
        nargs="*",
        metavar="TRACE",
        help="recordings of one radio, or raw edges as VCD; without one, a board is listened to, "
        "and it is said what to do meanwhile",
    )
    add_port(parser)
    parser.add_argument(
        "--move",
        action="append",
        type=name,
        default=[],
        metavar="NAME",
        help="ask for this control to be moved, and give it this name; may be repeated",
    )
    parser.add_argument(
        "--step",
        action="append",
        type=step,
        default=[],
        metavar="STEP",
        help="what was done in a recording: 'still 0 s..6 s', 'move deck key 6 s..12 s', "
        "'off 50 s..60 s'; may be repeated",
    )
    parser.add_argument("--save", type=Path, metavar="FILE", help="keep what was recorded")
    parser.add_argument(
        "--into", type=Path, metavar="SHIP", help="put what was learned into this ship file"
    )
    parser.add_argument("--yes", action="store_true", help="do not ask before that")
    parser.add_argument(
        "--plot", type=Path, metavar="PICTURE", help="draw PICTURE.svg and PICTURE.png"
    )


def name(text: str) -> str:
    """The name of a control that is asked for: as in a ship file, and fit to stand in a step."""
    from gen.names import MOST_CHARACTERS, check_text
    from gen.units import Wrong

    try:
        check_text(text, MOST_CHARACTERS)
    except Wrong as wrong:
        raise ArgumentTypeError(f"{text!r} {wrong.what}") from None
    if ";" in text or text != " ".join(text.split()):
        raise ArgumentTypeError(f"{text!r} is no name for a step: a semicolon, or loose spaces")
    return text


def step(text: str) -> Step:
    """A step as it is written."""
    from host_tools.learn.steps import read_step

    try:
        return read_step(text)
    except ValueError as error:
        raise ArgumentTypeError(str(error)) from None


def run(options: Namespace, report: Report) -> int:
    """Record or read, learn, tell, and write what was asked for."""
    from gen.diagnostics import ShipError
    from host_tools.learn.learn import learn
    from host_tools.learn.recording import CannotLearn

    named = str(options.traces[0]) if options.traces else options.port or "the board"
    if options.plot is not None:
        from host_tools.cli.pictures import picture_files

        refuse_existing(*picture_files(options.plot))
    if options.save is not None:
        refuse_existing(options.save)
    try:
        recording = _read(options) if options.traces else _record(options, report)
        learned = learn(recording)
    except CannotLearn as error:
        raise ShipError.about(named, error.code, error.what, hint=error.hint) from None
    sections = _tell(learned, options, report)
    if options.plot is not None:
        _draw(learned, options.plot, report)
    if options.into is not None:
        _put_into(sections, learned, options, report)
    return DONE if sections.written else FELL_SHORT


def _read(options: Namespace) -> Recording:
    """Traces and raw edges from files. Raises ShipError, CannotLearn."""
    from host_tools.formats.read_table import read_trace
    from host_tools.learn.edges import read_edges
    from host_tools.learn.recording import Recording

    traces: list[Trace] = []
    sums: dict[str, SumFound] = {}
    for path in options.traces:
        if path.suffix.lower() == ".vcd":
            trace, found = read_edges(path)
            traces.append(trace)
            sums |= found
        else:
            traces.append(read_trace(path))
    return Recording.of(traces, options.step, sums)


def _record(options: Namespace, report: Report) -> Recording:
    """A minute with a person, on a port. Raises LinkError, CannotLearn."""
    from host_tools.learn.guidance import Listener, asked, guide
    from host_tools.learn.recording import Recording
    from host_tools.learn.steps import with_steps
    from host_tools.link.recorder import names_for

    listener = Listener()
    with session_on(options.port, listener.hear) as session:
        identity = session.open()
        report.say(f"listening to {identity.ship or 'a recorder'} on {session.port.name}")
        steps = guide(session, listener, asked(options.move), report.say, report.progress)
    recorded = listener.recorder.finish()[0].recording
    names = names_for(identity, None)
    source = with_steps(f"recorded from {names.ship or 'a recorder'}", steps)
    trace: Trace = recorded.trace(names, source)
    if options.save is not None:
        from host_tools.formats.write_table import format_trace

        write_file(options.save, format_trace(trace), replace=False)
        report.say(f"wrote {options.save}")
    return Recording.of([trace])


def _tell(learned: Learned, options: Namespace, report: Report) -> Sections:
    """Every finding, then the sections."""
    from host_tools.learn.text import sections

    made = sections(learned)
    for finding in learned.findings:
        report.say(finding.as_text())
    if options.into is None:
        report.say(f"\nto paste into a ship file:\n\n{made.text}")
    report.data |= {
        "frame_us": round(learned.period_us, 2) if learned.channels else None,
        "findings": [finding.as_json() for finding in learned.findings],
        "sections": made.text,
        "channels": {one.name: dict(one.keys) for one in made.channels if not one.doubt},
        "controls": {one.name: dict(one.keys) for one in made.controls if not one.doubt},
    }
    return made


def _draw(learned: Learned, stem: Path, report: Report) -> None:
    from host_tools.cli.pictures import draw_radio

    files = draw_radio(learned, stem)
    report.data["pictures"] = [str(path) for path in files]
    report.say(f"wrote {files[0]} and {files[1]}")


def _put_into(sections: Sections, learned: Learned, options: Namespace, report: Report) -> None:
    """Shows what would change, asks, and writes the ship file whole. Raises ShipError."""
    import difflib

    from gen.diagnostics import Problems, ShipError
    from gen.nodes import parse_nodes
    from host_tools.learn.fitting import fitted
    from host_tools.learn.into import CannotPlace, put_into

    path: Path = options.into
    content = _content(path)
    root = parse_nodes(content, Problems(str(path)))
    bands: dict[str, Any] = {
        one.name: tuple(name for name, _, _ in one.bands.positions) if one.bands else ()
        for one in learned.controls
    }
    fit = fitted(sections, root, bands)
    for left_out in fit.left_out:
        report.say(f"left out: {left_out}")
    try:
        made = put_into(content, fit.sections, str(path))
    except CannotPlace:
        raise ShipError.about(
            str(path),
            "learn-into",
            "the sections cannot be put in without touching anything else",
            hint="paste them by hand: pinrail learn without --into prints them",
        ) from None
    before = content.decode("utf-8-sig").splitlines()
    changes = list(difflib.unified_diff(before, made.splitlines(), lineterm="", n=0))[2:]
    report.data["changes"] = changes
    if not changes:
        report.say(f"{path} says all of this already")
        return
    report.say("\n".join(changes))
    _refuse_broken(content, made, path)
    if not options.yes and not _agreed(report, path):
        raise ShipError.about(
            str(path), "learn-not-agreed", "nothing was written", hint="--yes writes without asking"
        )
    write_file(path, made, replace=True)
    report.data["written"] = str(path)
    report.say(f"wrote {path}; next: pinrail check {path}")


def _content(path: Path) -> bytes:
    from gen.diagnostics import ShipError

    try:
        return path.read_bytes()
    except OSError as error:
        raise ShipError.about(
            str(path), "cannot-read", f"the file cannot be read: {error.strerror}"
        ) from error


def _refuse_broken(before: bytes, made: str, path: Path) -> None:
    """Raises ShipError if the ship file would have mistakes that it has not now. That nothing uses
    a new control yet is none: functions come next."""
    from gen.diagnostics import Severity, ShipError

    known = {one.code for one in _problems(before, path)}
    new = [
        one
        for one in _problems(made.encode(), path)
        if one.severity is Severity.ERROR and one.code not in known | {"unused"}
    ]
    if new:
        raise ShipError(new)


def _problems(content: bytes, path: Path) -> list[Any]:
    from gen.diagnostics import ShipError
    from gen.load import load_text

    try:
        return load_text(content, str(path)).problems
    except ShipError as error:
        return list(error.problems)


def _agreed(report: Report, path: Path) -> bool:
    if report.as_json or not sys.stdin.isatty():
        return False
    return input(f"Write this into {path}? Then type yes: ").strip().lower() == "yes"
