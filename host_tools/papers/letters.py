"""How wide a text will be at most, without the typeface that will print it.

A drawing is laid out before anybody knows which typeface a browser will take. The widths here are
those of a wide one (a little above DejaVu Sans), so that what fits here fits everywhere.
"""

from __future__ import annotations

import re
import unicodedata

MM_PER_PT = 25.4 / 72

_NARROW = frozenset("iIjl.,:;'|!()[]/ ft")
_WIDE = frozenset("mwMW@%&")
_EM = {"narrow": 0.42, "wide": 1.0, "capital": 0.78, "other": 0.65, "east": 1.05, "unknown": 0.9}


_NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=(?:m?[AV]|%|mm2|us|s|k?ohm)(?:\W|$))")


NO_BREAK = "\u00a0"

BOLD = 1.08
"""How much wider bold letters are."""


def _em(letter: str) -> float:
    if unicodedata.combining(letter):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF":
        return _EM["east"]
    if letter in _NARROW:
        return _EM["narrow"]
    if letter in _WIDE:
        return _EM["wide"]
    if ord(letter) > 0x24F:  # beyond Latin: some scripts have wide letters
        return _EM["unknown"]
    return _EM["capital"] if letter.isupper() else _EM["other"]


def width_mm(text: str, size_pt: float) -> float:
    """The width of a line of text at most."""
    return sum(map(_em, text)) * size_pt * MM_PER_PT


def widest_word_mm(text: str, size_pt: float) -> float:
    """The width of the longest word of a text at most."""
    words = _NUMBER_AND_UNIT.sub(NO_BREAK, text).replace("\n", " ").split(" ")
    return max(width_mm(word, size_pt) for word in words)


def wrapped(text: str, size_pt: float, room_mm: float) -> list[str]:
    """The text in lines that fit; a word longer than a line is broken, and a number stays with its
    unit."""
    lines: list[str] = []
    for part in _NUMBER_AND_UNIT.sub(NO_BREAK, text).split("\n"):
        line = ""
        for word in part.split(" "):
            tried = f"{line} {word}" if line else word
            if width_mm(tried, size_pt) <= room_mm:
                line = tried
                continue
            if line:
                lines.append(line)
            *broken, line = _broken(word, size_pt, room_mm)
            lines += broken
        lines.append(line)
    return lines


def _broken(word: str, size_pt: float, room_mm: float) -> list[str]:
    """A word in pieces that fit, of one letter at least."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_mm(pieces[-1] + letter, size_pt) > room_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces
