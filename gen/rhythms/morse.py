"""Morse code: signs, spacing and speed of Recommendation ITU-R M.1677-1 (10/2009), part I.

A dash is three dots long, signals of one letter are a dot apart, letters three, words seven. The
speed is in words a minute, a word being PARIS with its space: 50 dots.
"""

from __future__ import annotations

import re

from gen.rhythms.pattern import Span
from gen.units import Wrong

DOT = 1
DASH = 3
SIGNAL_SPACE = 1
LETTER_SPACE = 3
WORD_SPACE = 7
WORD_UNITS = 50
"""PARIS and the space behind it."""

MINUTE_US = 60_000_000
SPEEDS_WPM = (1, 40)
"""Faster, and a dot has too few ticks to be exact; slower is no Morse."""

EXAMPLE = "morse SOS at 12 wpm"

CODE: dict[str, str] = {
    "A": ".-", "B": "-...", "C": "-.-.", "D": "-..", "E": ".", "É": "..-..", "F": "..-.",
    "G": "--.", "H": "....", "I": "..", "J": ".---", "K": "-.-", "L": ".-..", "M": "--",
    "N": "-.", "O": "---", "P": ".--.", "Q": "--.-", "R": ".-.", "S": "...", "T": "-",
    "U": "..-", "V": "...-", "W": ".--", "X": "-..-", "Y": "-.--", "Z": "--..",
    "1": ".----", "2": "..---", "3": "...--", "4": "....-", "5": ".....",
    "6": "-....", "7": "--...", "8": "---..", "9": "----.", "0": "-----",
    ".": ".-.-.-", ",": "--..--", ":": "---...", "?": "..--..", "'": ".----.", "-": "-....-",
    "/": "-..-.", "(": "-.--.", ")": "-.--.-", '"': ".-..-.", "=": "-...-", "+": ".-.-.",
    "\u00d7": "-..-", "@": ".--.-.",
}  # fmt: skip
"""Letters, figures and punctuation marks of M.1677-1, part I, section 1.1."""

_WRITTEN = re.compile(r"morse\s+(?P<text>.+?)\s+at\s+(?P<speed>[0-9]+)\s*wpm(?P<once>\s+once)?")


def units(text: str) -> list[tuple[bool, int]]:
    """On and off in turn, in dots, without a space at the end. Raises Wrong."""
    made: list[tuple[bool, int]] = []
    for word in text.upper().split():
        for letter in word:
            if letter not in CODE:
                raise Wrong(
                    "unknown-rhythm", f"has no Morse sign for {letter!r}", "letters, figures"
                )
            for signal in CODE[letter]:
                made += [(True, DASH if signal == "-" else DOT), (False, SIGNAL_SPACE)]
            made[-1] = (False, LETTER_SPACE)
        made[-1] = (False, WORD_SPACE)
    return made[:-1]


def message(text: str) -> tuple[list[Span], bool] | None:
    """The stretches of "morse TEXT at N wpm", and whether it repeats: it does, a word's space
    apart, unless "once" follows. None if it is no such text. Raises Wrong."""
    if not text.startswith("morse"):
        return None
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise Wrong("unknown-rhythm", "is no Morse text with its speed", EXAMPLE)
    speed = int(match["speed"])
    if not SPEEDS_WPM[0] <= speed <= SPEEDS_WPM[1]:
        least, most = SPEEDS_WPM
        raise Wrong("rhythm-rule", f"is sent at {speed} wpm", f"from {least} to {most} wpm")
    counted = [*units(match["text"]), (False, WORD_SPACE)]
    dots = 0
    made = []
    for on, count in counted:  # rounded from the beginning, so that nothing adds up
        begin = dots * MINUTE_US // (WORD_UNITS * speed)
        dots += count
        made.append(Span(on, dots * MINUTE_US // (WORD_UNITS * speed) - begin))
    return made, not match["once"]
