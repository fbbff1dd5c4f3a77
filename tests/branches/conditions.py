"""Notes what each condition of each decision was, so that it can be said whether it ever decided.

Modified condition/decision coverage, as DO-178C (glossary) has it: each condition has been shown
to change the outcome of its decision, here with the others as they are or not looked at (masking,
as CAST-6 allows). The text is changed before it is compiled: a decision `a && !b` becomes `seen(7,
at(7, 0, a) && !at(7, 1, b))`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator


@dataclass(frozen=True)
class Decision:
    """One with two conditions or more: its header, its line from 1 on, its text, its conditions."""

    number: int
    file: str
    line: int
    text: str
    conditions: tuple[str, ...]


NOTES = """#pragma once
#include <stdint.h>
#include <stdio.h>
#include <set>
#include <tuple>
namespace mcdc {
struct Now { uint32_t looked, was; };
inline Now& now(int decision) { static Now all[1000]; return all[decision]; }
typedef std::tuple<int, uint32_t, uint32_t, bool> Row;
struct Rows : std::set<Row> {
  ~Rows() {
    FILE* out = fopen(MCDC, "w");
    for (const Row& row : *this) {
      fprintf(out, "%d %u %u %d\\n", std::get<0>(row), std::get<1>(row), std::get<2>(row),
    std::get<3>(row)); }
    fclose(out);
  }
};
inline Rows& rows() { static Rows all; return all; }
inline bool begin(int decision) { now(decision) = Now(); return true; }
inline bool at(int decision, int condition, bool is) {
  now(decision).looked |= 1u << condition;
  now(decision).was |= static_cast<uint32_t>(is) << condition;
  return is;
}
inline bool seen(int decision, bool is) {
  rows().insert(Row(decision, now(decision).looked, now(decision).was, is));
  return is;
}
}  // namespace mcdc
"""
"""What is compiled in front of the logic; the notes are written to the file MCDC at the end."""

_STARTS = re.compile(r"\bif \(|\breturn |(?<![=!<>])= |\? |: |^\s*(?=\()")


def instrumented(file: str, text: str, first: int) -> tuple[str, list[Decision]]:
    """A header with its decisions noted, numbered from `first` on."""
    found: list[Decision] = []
    out, at = [], 0
    for start, end in _decisions(text):
        decision = text[start:end]
        number = first + len(found)
        conditions: list[str] = []
        noted = _noted(decision, number, conditions)
        line = text.count("\n", 0, start) + 1
        words = " ".join(decision.split())
        found.append(Decision(number, file, line, words, tuple(conditions)))
        out += [text[at:start], f"(mcdc::begin({number}), mcdc::seen({number}, {noted}))"]
        at = end
    return "".join([*out, text[at:]]), found


def _decisions(text: str) -> Iterator[tuple[int, int]]:
    """Where the outermost expressions stand that have && or || in them."""
    blank = re.sub(r"//[^\n]*", lambda match: " " * len(match[0]), text)
    done = 0
    for match in re.finditer(r"&&|\|\|", blank):
        if match.start() < done:
            continue
        start = _outwards(blank, match.start(), -1)
        end = _outwards(blank, match.end(), 1)
        while _is_part(blank, start, end):
            start, end = _outwards(blank, start - 1, -1), _outwards(blank, end + 1, 1)
        while blank[start].isspace():
            start += 1
        if not blank[start:end].lstrip().startswith("="):
            yield start, end
            done = end


def _is_part(text: str, start: int, end: int) -> bool:
    """Whether this is in brackets, and what they hold is a condition of something larger."""
    if text[start - 1] != "(" or text[end] != ")":
        return False
    behind, before = text[end + 1 :].lstrip(), text[: start - 1].rstrip(" !\n")
    return behind.startswith(("&&", "||")) or before.endswith(("&&", "||"))


def _outwards(text: str, at: int, way: int) -> int:
    """The end of the expression on one side: an open bracket, a statement's end, `=`, `?`,
    `return`."""
    depth = 0
    while True:
        character = text[at - 1] if way < 0 else text[at]
        opens, closes = (")]}", "([{") if way < 0 else ("([{", ")]}")
        if character in opens:
            depth += 1
        elif character in closes:
            if depth == 0:
                return at
            depth -= 1
        elif depth == 0:
            if character in ";?{},":
                return at
            before = text[max(0, at - 7) : at]
            if way < 0 and (before.endswith("return ") or re.search(r"[^=!<>]= $", before)):
                return at
            if way < 0 and before.endswith(" : "):
                return at
            if way > 0 and text[at : at + 3] == " : ":
                return at
        at += way


def _split(text: str) -> list[tuple[int, int]]:
    """The conditions of one level, brackets kept together."""
    parts, depth, start, at = [], 0, 0, 0
    while at < len(text):
        if text[at] in "([{":
            depth += 1
        elif text[at] in ")]}":
            depth -= 1
        elif depth == 0 and text[at : at + 2] in ("&&", "||"):
            parts.append((start, at))
            at += 2
            start = at
            continue
        at += 1
    return [*parts, (start, len(text))]


def _noted(text: str, number: int, conditions: list[str]) -> str:
    parts = _split(text)
    if len(parts) == 1:
        word = text.strip()
        inner = re.fullmatch(r"(!?)\((.*)\)", word, re.DOTALL)
        if inner is not None and re.search(r"&&|\|\|", inner[2]) and _is_one_bracket(word):
            return f"{inner[1]}({_noted(inner[2], number, conditions)})"
        conditions.append(" ".join(word.split()))
        return f"mcdc::at({number}, {len(conditions) - 1}, ({word}))"
    out, at = [], 0
    for start, end in parts:
        out += [text[at:start], " ", _noted(text[start:end], number, conditions), " "]
        at = end
    return "".join(out)


def _is_one_bracket(word: str) -> bool:
    depth = 0
    for at, character in enumerate(word.lstrip("!")):
        depth += {"(": 1, ")": -1}.get(character, 0)
        if depth == 0:
            return at == len(word.lstrip("!")) - 1
    return False


Row = tuple[int, int, int, bool]
"""A decision's number, the conditions that were looked at (a bit each), what they were, the
outcome."""


def shown(decision: Decision, rows: Iterable[Row]) -> list[bool]:
    """For each condition, whether two rows show that it decides: it differs, the outcome differs,
    and whatever else both looked at is the same."""
    mine = [row for row in rows if row[0] == decision.number]
    out = []
    for condition in range(len(decision.conditions)):
        bit = 1 << condition
        looked = [row for row in mine if row[1] & bit]
        out.append(
            any(
                a[3] != b[3] and (a[2] ^ b[2]) & bit and not (a[2] ^ b[2]) & a[1] & b[1] & ~bit
                for a in looked
                for b in looked
            )
        )
    return out
