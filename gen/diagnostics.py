"""What is wrong with an input, told to a person: one grammar, all at once, sorted.

launch.yaml:12:15: error[wrong-unit]: limit: lower needs another unit (got '8 kg', expected a time)
  hint: write for example 8 s
"""

from __future__ import annotations

import enum
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from gen.codes import CODES

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

MOST_PROBLEMS = 100
"""After so many errors no more are looked for: nobody reads them, and a hint takes time."""

SHOWN_CHARACTERS = 60
"""How much of an offending text a message repeats."""


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Line and column in a file, both counted from 1; 0 and 0 is the whole file."""

    line: int
    col: int


WHOLE_FILE = Place(0, 0)


class Severity(enum.StrEnum):
    """An error stops the work; a warning is told and the work goes on."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong. `line` and `col` count from 1; 0 means the whole file.

    `code` is a key of `CODES`. `got` is the offending text as the message repeats it (see `show`)
    and `expected` what would have been right; either may be "".
    """

    file: str
    line: int
    col: int
    code: str
    what: str
    got: str = ""
    expected: str = ""
    hint: str = ""
    severity: Severity = Severity.ERROR

    def __post_init__(self) -> None:
        if self.code not in CODES:
            raise KeyError(f"the code {self.code!r} is missing from gen/codes.py")

    def __str__(self) -> str:
        place = f":{self.line}:{self.col}" if self.line else ""
        sides = [f"got {self.got}"] if self.got else []
        sides += [f"expected {self.expected}"] if self.expected else []
        tail = f" ({', '.join(sides)})" if sides else ""
        hint = f"\n  hint: {self.hint}" if self.hint else ""
        return f"{self.file}{place}: {self.severity}[{self.code}]: {self.what}{tail}{hint}"

    def as_json(self) -> dict[str, str | int]:
        """The same for machines."""
        return {
            "file": self.file,
            "line": self.line,
            "col": self.col,
            "severity": str(self.severity),
            "code": self.code,
            "what": self.what,
            "got": self.got,
            "expected": self.expected,
            "hint": self.hint,
        }


class ShipError(Exception):
    """An input cannot be used. `problems` say why, sorted by place."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = ordered(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    @classmethod
    def about(
        cls, file: str, code: str, what: str, *, got: str = "", expected: str = "", hint: str = ""
    ) -> ShipError:
        """One thing that is wrong with a file, or with what was asked of it, as a whole."""
        return cls([Problem(file, 0, 0, code, what, got, expected, hint)])


@dataclass
class Problems:
    """Collects what is wrong with one file, so that all of it can be told at once."""

    file: str
    found: list[Problem] = field(default_factory=list)
    _errors: int = 0

    def add(
        self,
        code: str,
        place: Place,
        what: str,
        *,
        got: str = "",
        expected: str = "",
        hint: str = "",
        severity: Severity = Severity.ERROR,
    ) -> None:
        """Notes one problem. Raises ShipError with all of them once there are too many."""
        self.found.append(
            Problem(self.file, place.line, place.col, code, what, got, expected, hint, severity)
        )
        self._errors += severity is Severity.ERROR
        if self._errors == MOST_PROBLEMS:
            self.add(
                "many-problems",
                WHOLE_FILE,
                f"{MOST_PROBLEMS} things are wrong; no more were looked for",
            )
            self.stop_on_errors()

    def __iter__(self) -> Iterator[Problem]:
        return iter(ordered(self.found))

    @property
    def warnings(self) -> list[Problem]:
        """What is no error, sorted."""
        return [problem for problem in self if problem.severity is not Severity.ERROR]

    def stop_on_errors(self) -> None:
        """Raises ShipError with everything found so far if an error is among it."""
        if any(problem.severity is Severity.ERROR for problem in self.found):
            raise ShipError(self.found)


def ordered(problems: Iterable[Problem]) -> list[Problem]:
    """By file and place, each told once."""
    return sorted(
        dict.fromkeys(problems), key=lambda one: (one.file, one.line, one.col, one.code, one.what)
    )


def show(text: str) -> str:
    """A text as a message repeats it: in quotes, shortened, nothing in it that moves a cursor."""
    if len(text) > SHOWN_CHARACTERS:
        text = text[: SHOWN_CHARACTERS - 1] + "…"
    return f"'{harmless(text)}'"


def harmless(text: str, kept: str = "") -> str:
    r"""A text that a terminal only shows: what would move its cursor, colour it, turn its letters
    round or end a line is written as in Python (`\x1b`), but for the characters that are `kept`.
    """
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() or c in kept else repr(c)[1:-1] for c in text)


def nearest(word: str, known: Iterable[str], most_listed: int = 8) -> str:
    """A hint: the known word nearest to `word`, or all known words if they are few, or ""."""
    import difflib  # noqa: PLC0415 - only needed once something is wrong

    known = sorted(set(known))
    by_lower = {one.lower(): one for one in known}
    close = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    if close:
        return f"did you mean {show(by_lower[close[0]])}?"
    if 0 < len(known) <= most_listed:
        return "known here: " + ", ".join(map(harmless, known))
    return ""


def nearest_start(text: str, names: Sequence[str]) -> str:
    """A hint: the name nearest to as many words at the beginning of `text` as it has itself."""
    words = text.split()
    for count in sorted({len(name.split()) for name in names}, reverse=True):
        same = [name for name in names if len(name.split()) == count]
        hint = nearest(" ".join(words[:count]), same, most_listed=0) if words[:count] else ""
        if hint:
            return hint
    return ""
