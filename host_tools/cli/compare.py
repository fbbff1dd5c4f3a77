"""pinrail compare: what changed between two ships, in words, and what the ship does differently."""

from __future__ import annotations

import dataclasses
import time
from pathlib import Path
from typing import TYPE_CHECKING

from gen.behaviours.base import seconds
from gen.diagnostics import ShipError
from gen.load import load, load_text
from host_tools.cli import DONE, FELL_SHORT
from host_tools.cli.pictures import draw_page
from host_tools.cli.ships import add_out, add_rung, where
from host_tools.files import free_name, write_file
from host_tools.formats.write_table import format_trace
from host_tools.rungs import RUNGS, open_rung

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from gen.load import Loaded
    from gen.plan import Plan
    from host_tools.cli.report import Report
    from host_tools.compare.both import Compared
    from host_tools.compare.replay import Seen
    from host_tools.compare.verdict import Verdict
    from host_tools.plot.page import Page

EXAMPLE = "pinrail compare launch.yaml --since HEAD~1"

GIT_SAYS = (7, 9)
"""With so many arguments git calls an external diff: the path, and of the old and the new file each
where it is, its content's name and its mode; of a renamed file also its new path and how alike they
are."""

NOTHING = Path("/dev/null")

_SHORTER = {"it says the same": "say the same"}
"""How several functions were decided, where one word would be wrong."""


def add_arguments(parser: ArgumentParser) -> None:
    """What the command takes."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="SHIP",
        help="the old ship file and the new one, or one file and --since",
    )
    parser.add_argument(
        "--since", metavar="REVISION", help="a git revision: compare the file with what it was then"
    )
    add_rung(parser)
    parser.add_argument(
        "--plot",
        action="store_true",
        help="draw both timelines of each difference (needs matplotlib)",
    )
    parser.add_argument(
        "--traces", action="store_true", help="write the pulses of each difference, for both ships"
    )
    add_out(parser, "pictures and traces")


def run(options: Namespace, report: Report) -> int:
    """Compare two ships."""
    if len(options.files) in GIT_SAYS:
        return _for_git(options, report)
    old, new, names = _opened(options)
    return _told(old, new, names, options, report)


def _opened(options: Namespace) -> tuple[Loaded, Loaded, tuple[str, str]]:
    """Both ships, with everything that is wrong with either."""
    files = [Path(one) for one in options.files]
    if len(files) != (1 if options.since else 2):
        raise ShipError.about(
            "pinrail compare",
            "usage",
            "two ships are compared",
            got=f"{len(files)} file{'s' if len(files) > 1 else ''}"
            + (" and --since" if options.since else ""),
            expected="OLD NEW, or one file and --since REVISION",
        )
    if options.since:
        from host_tools.history import content_at

        file = files[0]
        then = f"{file}@{options.since}"
        old = load_text(content_at(file, options.since), then)
        return old, load(file), (then, str(file))
    return load(files[0]), load(files[1]), (str(files[0]), str(files[1]))


def _for_git(options: Namespace, report: Report) -> int:
    """As git calls an external diff. It always ends with 0, for git would stop at anything else,
    and what is no ship file is told and passed over."""
    path, old_file, _, _, new_file = options.files[:5]
    files = [Path(old_file), Path(new_file)]
    if NOTHING in files:
        report.say(f"{path}: {'a new ship file' if files[0] == NOTHING else 'gone'}")
        return DONE
    names = (f"{path} (old)", path)
    try:
        old, new = (
            load_text(file.read_bytes(), name) for file, name in zip(files, names, strict=True)
        )
    except ShipError as error:
        report.problems(error.problems)
        return DONE
    _told(old, new, names, options, report)
    return DONE


def _told(
    old: Loaded, new: Loaded, names: tuple[str, str], options: Namespace, report: Report
) -> int:
    from host_tools.compare.both import compare

    began = time.monotonic()
    report.data |= {
        "old": {"file": names[0], "ship": old.plan.ship, "plan": old.plan.plan_id},
        "new": {"file": names[1], "ship": new.plan.ship, "plan": new.plan.plan_id},
    }
    found = compare(old, new, report.progress)
    report.say(f"{names[0]} -> {names[1]}")
    _tell_changes(found, report)
    functions: list[dict[str, object]] = []
    report.data["functions"] = functions
    report.say("\nWhat the ship does differently:")
    code = DONE if found.is_same else FELL_SHORT
    for verdict in found.verdicts:
        entry = _entry(found, verdict)
        functions.append(entry)
        if verdict.verdict != "same":
            entry |= _tell(found, (old, new), verdict, options, report)
    _tell_the_rest(found, old, new, report)
    report.data |= {"same": found.is_same, "seconds": round(time.monotonic() - began, 2)}
    return code


def _tell_changes(found: Compared, report: Report) -> None:
    report.data["changes"] = [dataclasses.asdict(one) | {"text": one.text} for one in found.changes]
    if not found.changes:
        report.say("\nNothing changed but comments and the way things are written.")
        return
    report.say("\nWhat changed, what matters most first (old line, new line):")
    for one in found.changes:
        lines = (f"{line or '':>4}" for line in (one.old_line, one.new_line))
        report.say(f"  {' '.join(lines)}  {one.text}")


def _entry(found: Compared, verdict: Verdict) -> dict[str, object]:
    old, new = found.same.old.plan, found.same.new.plan
    return {
        "old": old.functions[verdict.old].name if verdict.old is not None else None,
        "new": new.functions[verdict.new].name if verdict.new is not None else None,
        "verdict": verdict.verdict,
        "how": verdict.how,
        "seconds": round(verdict.seconds, 3),
    }


def _tell(
    found: Compared,
    ships: tuple[Loaded, Loaded],
    verdict: Verdict,
    options: Namespace,
    report: Report,
) -> dict[str, object]:
    """One function that is not the same."""
    from host_tools.compare import words

    plans = found.same.old.plan, found.same.new.plan
    name = (
        plans[1].functions[verdict.new].name
        if verdict.new is not None
        else plans[0].functions[verdict.old or 0].name
    )
    if verdict.replay is None:
        certain = seconds(verdict.certain_ticks)
        sure = f"; surely the same for {certain} from power-up" if verdict.certain_ticks else ""
        report.say(f"  {name}: {verdict.verdict}: {verdict.how}{sure}")
        return {"certain_ticks": verdict.certain_ticks}
    source = f"the shortest way to where {name} differs"
    parts = verdict.replay.run(verdict.way, more_frames=_more(verdict), source=source)
    steps, ends = words.steps(verdict), words.ends(verdict, parts)
    report.say(f"  {name}: different after {seconds(verdict.tick)}, {words.how_short(verdict)}")
    for step in steps:
        report.say(f"    - {step}")
    report.say(f"    old: {ends[0]}; new: {ends[1]}")
    seen, apart = _seen(verdict, ships, options, report)
    report.say(f"    seen on both ships' {', '.join(seen)}")
    told: dict[str, object] = {
        "steps": steps,
        "tick": verdict.tick,
        "shortest": verdict.shortest or None,
        "certain_ticks": verdict.certain_ticks,
        "old_state": ends[0],
        "new_state": ends[1],
        "seen": seen,
    }
    if apart:
        told["apart"] = apart
    files = _files(plans, name, verdict, parts, options)
    if files:
        report.say(f"    wrote {', '.join(map(str, files))}")
        told["written"] = [str(file) for file in files]
    return told


def _more(verdict: Verdict) -> int:
    """For how many frames more it is looked on: a tenth of the way, half a second at least."""
    return max(sum(one.frames for one in verdict.way) // 10, 25)


def _seen(
    verdict: Verdict, ships: tuple[Loaded, Loaded], options: Namespace, report: Report
) -> tuple[list[str], dict[str, object]]:
    """On which rungs the difference was seen, and the one that does something else."""
    assert verdict.replay is not None  # noqa: S101 - who calls has looked
    seen = ["model"]
    for name in RUNGS[1 : RUNGS.index(options.on) + 1]:
        report.progress(f"replaying it on {where(name)} ...")
        with (
            open_rung(name, ships[0].plan, ships[0].board) as old,
            open_rung(name, ships[1].plan, ships[1].board) as new,
        ):
            parts = verdict.replay.run(verdict.way, more_frames=_more(verdict), rungs=(old, new))
        tick = verdict.replay.apart(parts)
        if tick is None or abs(tick - verdict.tick) > (name == "firmware"):
            what = "nothing differs" if tick is None else f"they differ in tick {tick}"
            report.say(f"    on {where(name)} {what}; that is a fault in Pinrail")
            return seen, {"on": name, "tick": tick}
        seen.append(name)
    return seen, {}


def _files(
    plans: tuple[Plan, Plan],
    name: str,
    verdict: Verdict,
    parts: tuple[Seen, ...],
    options: Namespace,
) -> list[Path]:
    """Pictures and traces, if they are wanted."""
    from host_tools.compare.files import page_of, stem_of

    folder = options.out or Path()
    made: list[Path] = []
    if options.traces:
        for number, part in enumerate(parts):
            for word, record in (("old", part.old), ("new", part.new)):
                power = f"-{number + 1}" if len(parts) > 1 else ""
                path = free_name(folder, f"{stem_of(name)}-{word}{power}", ".trace")
                write_file(path, format_trace(record.trace), replace=False)
                made.append(path)
    if options.plot:

        def page() -> Page:
            return page_of(plans, name, verdict, parts)

        stem = free_name(folder, f"{stem_of(name)}-compared", ".png").with_suffix("")
        made += draw_page(page, stem)
    return made


def _tell_the_rest(found: Compared, old: Loaded, new: Loaded, report: Report) -> None:
    from host_tools.compare.verdict import has_solver
    from host_tools.compare.words import MEANT

    counts: dict[str, int] = {}
    for one in found.verdicts:
        if one.verdict == "same":
            counts[one.how] = counts.get(one.how, 0) + 1
    same = sum(counts.values())
    if found.is_same:
        wired = " wired otherwise" if old.plan.plan_id != new.plan.plan_id else ""
        report.say(f"  nothing. Same behaviour{',' if wired else ''}{wired}")
    if same:
        ways = ", ".join(f"{count} {_SHORTER.get(how, how)}" for how, count in counts.items())
        report.say(f"  {same} of {len(found.verdicts)} functions proved the same ({ways})")
    if any(one.replay is not None for one in found.verdicts):
        report.say(f"  {MEANT}")
    open_ends = [one for one in found.verdicts if not one.is_certain]
    if open_ends and not has_solver():
        report.data["missing"] = "z3"
        report.say(
            "  More could be proved, but the solver is not installed: pip install 'pinrail[prove]'"
        )
