"""One small change of a text: an operator for its neighbour, a number one up."""

from __future__ import annotations

import io
import re
import token
import tokenize
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator


@dataclass(frozen=True)
class Mutant:
    """`what` is "logic", "model" or "plan"; `file` is a header, a module, or a class of the plan.
    In its `line` (from 1 on; of a plan 0) what stands `at` a column becomes something else."""

    what: str
    file: str
    line: int
    at: int
    sound: str
    faulty: str
    context: str

    @property
    def key(self) -> str:
        """Stays the same while its line does."""
        return f"{self.what} {self.file}:{self.at}: {self.sound} -> {self.faulty} in {self.context}"

    def planted(self, text: str) -> str:
        """The text with the change."""
        lines = text.split("\n")
        line = lines[self.line - 1]
        end = self.at + len(self.sound)
        if line[self.at : end] != self.sound:
            raise ValueError(self.key)
        lines[self.line - 1] = line[: self.at] + self.faulty + line[end:]
        return "\n".join(lines)


OPERATORS = {
    " < ": " <= ", " <= ": " < ", " > ": " >= ", " >= ": " > ", " == ": " != ", " != ": " == ",
    " && ": " || ", " || ": " && ", " + ": " - ", " - ": " + ", " * ": " + ", " / ": " * ",
    " << ": " >> ", " >> ": " << ", " & ": " | ", " | ": " & ", " ^ ": " | ", " &= ": " |= ",
}  # fmt: skip
"""The sketch has spaces round what takes two sides, and none in templates and references."""

_CPP = re.compile(
    "|".join(re.escape(one) for one in sorted(OPERATORS, key=len, reverse=True))
    + r"|\+\+|--|!(?=[\w(])|\btrue\b|\bfalse\b"
    + r"|(?<![\w.\"/])(?:0x[0-9A-Fa-f]+|\d+)(?=[uUlL]*\b)(?!_)"
)


def of_cpp(file: str, text: str) -> Iterator[Mutant]:
    """Every one of a header: not of comments, includes and static assertions."""
    for number, line in enumerate(text.split("\n"), start=1):
        code = line.partition("//")[0]
        if code.lstrip().startswith(("#", "static_assert", "template", "typedef", "enum")):
            continue
        for match in _CPP.finditer(code):
            sound = match[0]
            faulty = OPERATORS.get(sound) or {
                "++": "--", "--": "++", "!": "", "true": "false", "false": "true",
            }.get(sound)  # fmt: skip
            if faulty is None:
                faulty = hex(int(sound, 16) + 1) if sound.startswith("0x") else str(int(sound) + 1)
            yield Mutant("logic", file, number, match.start(), sound, faulty, line.strip())


PYTHON = {
    "<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "+": "-", "-": "+",
    "*": "+", "//": "*", "<<": ">>", ">>": "<<", "&": "|", "|": "&", "^": "|", "and": "or",
    "or": "and", "not": "", "True": "False", "False": "True", "+=": "-=", "-=": "+=",
    "is": "is not",
}  # fmt: skip


def of_python(file: str, text: str) -> Iterator[Mutant]:
    """Every one of a module: not of annotations, imports and class variables."""
    lines = text.split("\n")
    previous = ""
    for one in tokenize.generate_tokens(io.StringIO(text).readline):
        word, (number, at) = one.string, one.start
        line = lines[number - 1] if number <= len(lines) else ""
        before, previous = previous, word if one.type != token.NL else previous
        if line.lstrip().startswith(("def ", "from ", "import ", "class ", "@", "_Tuple")):
            continue
        if re.match(r"\s*(\w+: [\w\[\], |.]+|\) -> .*:)$", line) or "TypeVar" in line:
            continue
        faulty: str | None = None
        if one.type == token.NUMBER:
            faulty = hex(int(word, 16) + 1) if word.startswith("0x") else str(int(word) + 1)
        elif word in PYTHON and one.type in (token.OP, token.NAME):
            is_type = word == "|" and re.search(r"\bNone\b", line)
            is_sign = word in ("-", "*", "+") and before in (
                "(",
                ",",
                "return",
                "=",
                "[",
                "else",
                ":",
            )
            if not is_type and not (is_sign and word == "*"):
                faulty = PYTHON[word]
        if faulty is not None:
            yield Mutant("model", file, number, at, word, faulty, line.strip())
