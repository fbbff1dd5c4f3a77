"""What a command tells: lines for people, or one JSON object for machines."""

from __future__ import annotations

import json
import os
import re
import sys
import time
import traceback
from typing import TYPE_CHECKING, Any

from gen import __version__
from gen.codes import CODES
from gen.diagnostics import Problem, ShipError, harmless
from gen.toolchain import MissingTool
from host_tools.cli import FAULT, FELL_SHORT, WRONG_INPUT
from host_tools.link.errors import LinkError
from host_tools.record import RungFault, RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

SECONDS_BETWEEN_LINES = 10
"""How often progress is told where it cannot overwrite itself."""


KEPT = "\n"
"""Of what a terminal does more than show with, the one thing that our own texts hold. Names, files
and what a board says may hold anything."""

_UNSEEN = re.compile(r"[^\x00-\x7e]")


def _json(data: object) -> str:
    """For machines, and still harmless on a terminal: letters of all scripts stand as they are."""

    def escaped(match: re.Match[str]) -> str:
        return match[0] if match[0].isprintable() else json.dumps(match[0])[1:-1]

    return _UNSEEN.sub(escaped, json.dumps(data, ensure_ascii=False, indent=1))


class Report:
    """Collects what one command has to tell. With `as_json` nothing is printed before its end,
    when `data` is printed as one object.
    """

    def __init__(self, command: str, as_json: bool) -> None:
        self.as_json = as_json
        self.data: dict[str, Any] = {"command": command}
        self._progress = _Progress()

    def say(self, text: str) -> None:
        """One line, or a few, for people."""
        self._progress.clear()
        if not self.as_json:
            print(harmless(text, KEPT), flush=True)

    def problems(self, problems: Iterable[Problem]) -> None:
        """Problems with an input: errors, or warnings that do not stop the work."""
        told = list(problems)
        self.data.setdefault("problems", []).extend(problem.as_json() for problem in told)
        self._progress.clear()
        if not self.as_json:
            for problem in told:
                print(harmless(str(problem), KEPT), file=sys.stderr)

    def fault(self, code: str, what: str, hint: str = "") -> None:
        """Something that is wrong with no place in a file; `code` is a key of CODES."""
        if code not in CODES:
            raise KeyError(f"the code {code!r} is missing from gen/codes.py")
        self._progress.clear()
        self.data.setdefault("problems", []).append({"code": code, "what": what, "hint": hint})
        if not self.as_json:
            tail = f"\n  hint: {hint}" if hint else ""
            print(harmless(f"pinrail: error[{code}]: {what}{tail}", KEPT), file=sys.stderr)

    def progress(self, text: str) -> None:
        """How far long work has come; told on the error stream and never in JSON."""
        if not self.as_json:
            self._progress.tell(harmless(text))

    def finish(self, code: int) -> int:
        """Print the JSON object when one is wanted; returns `code`."""
        self._progress.clear()
        self.data["exit"] = code
        if self.as_json:
            print(_json(self.data))
        return code


def run_told(work: Callable[[Report], int], report: Report) -> int:
    """Do the work and turn whatever stops it into a message and an exit code."""
    try:
        return report.finish(work(report))
    except ShipError as error:
        report.problems(error.problems)
    except MissingTool as error:
        report.fault(error.code, error.what, error.hint)
    except LinkError as error:
        report.fault(error.code, error.what, error.hint)
        if error.board_fell_short:
            return report.finish(FELL_SHORT)
    except RungUnavailable as error:
        report.fault("rung-unavailable", str(error))
    except RungFault as fault:
        from host_tools.states import show_time

        report.fault(
            "rung-fault", f"{fault} (at {show_time(fault.tick)})", CODES["rung-fault"].remedy
        )
        return report.finish(FELL_SHORT)
    except (KeyboardInterrupt, BrokenPipeError):
        raise
    except Exception as error:
        if os.environ.get("PINRAIL_DEBUG"):
            traceback.print_exc()
        report.fault(
            "internal",
            f"a fault in Pinrail {__version__} itself: {type(error).__name__}: "
            f"{' '.join(str(error).split())[:300]}",
            CODES["internal"].remedy,
        )
        return report.finish(FAULT)
    return report.finish(WRONG_INPUT)


class _Progress:
    """One line that overwrites itself on a terminal, and now and then a line elsewhere."""

    def __init__(self) -> None:
        self._on_terminal = sys.stderr.isatty()
        self._shown = False
        self._next = time.monotonic() + SECONDS_BETWEEN_LINES

    def tell(self, text: str) -> None:
        if self._on_terminal:
            print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)
            self._shown = True
        elif time.monotonic() >= self._next:
            print(text, file=sys.stderr, flush=True)
            self._next = time.monotonic() + SECONDS_BETWEEN_LINES

    def clear(self) -> None:
        if self._shown:
            print("\r\x1b[K", end="", file=sys.stderr, flush=True)
            self._shown = False
