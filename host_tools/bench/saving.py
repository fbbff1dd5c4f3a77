"""Recording, and what becomes of what was seen: a trace, or a trial in the ship file.

Nothing of the user's is overwritten unless the page has asked and was told yes, and a file is
written whole or not at all.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import ShipError, show
from gen.reserved import DEVICES
from host_tools.bench.asked import Not, bad
from host_tools.bench.telling import told
from host_tools.files import free_name, write_file
from host_tools.formats.outputs import beside_pulses
from host_tools.formats.write_table import format_trace
from host_tools.opened import opened_text
from host_tools.states import show_duration

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.bench.asked import Asked, Json
    from host_tools.bench.seen import Seen, Tape
    from host_tools.opened import OpenedShip

MOST_NAME = 80
ENDING = ".trace"
WHAT = ("recording", "minute")

TRIALS = re.compile(rb"trials:[ \t]*(#[^\n]*)?\r?\n?")


class Saving:
    """`opened` is the ship as it runs; `say` takes words for the log."""

    def __init__(self, opened: OpenedShip, seen: Seen, say: Callable[[str, str], None]) -> None:
        self.opened = opened
        self._seen = seen
        self._say = say

    def commands(self) -> dict[str, Callable[[object, Asked], Json]]:
        """What a page can ask for."""
        return {
            "record": self.record,
            "save_trace": self.save_trace,
            "trial_text": self.trial_text,
            "save_trial": self.save_trial,
        }

    def record(self, _: object, asked: Asked) -> Json:
        """Begins or ends a recording."""
        begins = asked.flag("on")
        asked.finish()
        if begins:
            self._seen.record()
            tape = self._seen.tape
            since = "the ship's start" if tape is not None and tape.from_power_up else "now"
            self._say("bench", f"recording, from {since} on")
        elif self._seen.is_recording:
            self._seen.stop()
            self._say("bench", "the recording has ended")
        return {}

    def save_trace(self, _: object, asked: Asked) -> Json:
        """Writes a trace beside the ship file."""
        tape = self._tape(asked.word("what", WHAT))
        name = asked.text("name", MOST_NAME, usual="")
        replace = asked.flag("replace", usual=False)
        asked.finish()
        plan, folder = self.opened.plan, self.opened.path.parent
        path = free_name(folder, f"{plan.code}-bench", ENDING)
        if name:
            path = folder / _file_name(name)
        record = tape.record(plan, "seen on the bench")
        try:
            write_file(path, format_trace(*beside_pulses(plan, record)), replace=replace)
        except ShipError as error:
            problem = error.problems[0]
            raise Not(problem.code, f"{path.name} {problem.what}", problem.hint) from None
        self._say("bench", f"{show_duration(tape.ticks)} saved as {path.name}")
        return {"path": str(path)}

    def trial_text(self, _: object, asked: Asked) -> Json:
        """The trial as it would stand in the ship file."""
        tape, name = self._tape(asked.word("what", WHAT)), self._name(asked)
        asked.finish()
        trial = told(self.opened.plan, tape, name)
        return {"text": "\n".join(trial.lines()) + "\n", "left_out": trial.left_out}

    def save_trial(self, _: object, asked: Asked) -> Json:
        """Puts the trial into the ship file, once that has been agreed to."""
        tape, name = self._tape(asked.word("what", WHAT)), self._name(asked)
        sure = asked.flag("sure", usual=False)
        asked.finish()
        path = self.opened.path.resolve()
        if not sure:
            raise Not("sure", f"{path.name} is written anew, with this trial behind the others")
        trial = told(self.opened.plan, tape, name)
        try:
            before = path.read_bytes()
            after, line = with_trial(before, trial.lines())
            self._check(after, name)
            mode = path.stat().st_mode
            write_file(path, after, replace=True)
            path.chmod(mode)
        except ShipError as error:
            raise Not(
                "bad", str(error.problems[0]), "take the text, and put it in by hand"
            ) from None
        except OSError as error:
            raise Not("cannot-write", f"{path.name}: {error.strerror}") from None
        self._say("bench", f"trial {show(name)} is in {path.name} now, at line {line}")
        return {"path": str(path), "line": line}

    def _check(self, content: bytes, name: str) -> None:
        """The file as it would be must be a ship's, this one's, with the trial in it."""
        after = opened_text(content, self.opened.path)
        if after.plan.plan_id != self.opened.plan.plan_id:
            raise Not("not-now", "the ship file has another plan by now than what was seen")
        if name not in [trial.name for trial in after.trials]:
            raise Not("not-now", "the trial could not be put in", "put its text in by hand")

    def _name(self, asked: Asked) -> str:
        name = " ".join(asked.text("name", MOST_NAME).split())
        if not name:
            raise Not("bad", "a trial needs a name")
        if name in [trial.name for trial in self.opened.trials]:
            raise Not("exists", f"there is a trial {show(name)} already", "choose another name")
        return name

    def _tape(self, what: str) -> Tape:
        tape = self._seen.minute() if what == "minute" else self._seen.tape
        if tape is None or not tape.ticks:
            raise Not("not-now", "nothing has been recorded yet")
        return tape


def _file_name(name: str) -> str:
    """A name without a folder, with its ending."""
    if name != Path(name).name or "\\" in name or ":" in name or name.startswith("."):
        raise bad("a file's name has no folder and begins with no dot")
    if name.partition(".")[0].strip().lower() in DEVICES:
        raise bad("on Windows this would be a device")
    return name if name.endswith(ENDING) else name + ENDING


def with_trial(content: bytes, lines: list[str]) -> tuple[bytes, int]:
    """A ship file with a trial more behind those that it has, and the line where that begins.

    Raises Not where its trials are written in a way that nothing can be put behind.
    """
    end = b"\r\n" if b"\r\n" in content else b"\n"
    old = content.splitlines(keepends=True)
    heads = [number for number, line in enumerate(old) if line.startswith(b"trials:")]
    if old and not old[-1].endswith(b"\n"):
        old[-1] += end
    new = [line.encode() + end for line in lines]
    if not heads:
        return b"".join([*old, end, b"trials:" + end, *new]), len(old) + 3
    begins = heads[0]
    if not TRIALS.fullmatch(old[begins]):
        raise Not("not-now", "the trials stand in one line", "put the text in by hand")
    behind = begins + 1
    for number in range(begins + 1, len(old)):
        line = old[number]
        if line.strip() and not line.startswith((b" ", b"\t", b"#")):
            break  # the next section
        if line.startswith((b" ", b"\t")) and line.strip():
            behind = number + 1
    return b"".join([*old[:behind], end, *new, *old[behind:]]), behind + 2
