"""Sound signals of the International Regulations for Preventing Collisions at Sea, 1972 (COLREGs).

Rule 32: a short blast lasts about 1 s, a prolonged one 4 to 6 s. Rule 34: signals of manoeuvre and
of warning. Rule 35: signals in restricted visibility, at intervals of at most 2 minutes, a bell's
of at most 1. Between two prolonged blasts lie about 2 s (Rule 35 (b)); so they do here wherever one
of the two is prolonged, and 1 s between two short ones (common practice, no source).
"""

from __future__ import annotations

import re

from gen.diagnostics import nearest
from gen.rhythms.pattern import Span, seconds_text
from gen.units import TIME, Wrong, quantity

SECOND_US = 1_000_000
LENGTH_US = {"short": SECOND_US, "prolonged": 5 * SECOND_US}
SHORT_APART_US = SECOND_US
PROLONGED_APART_US = 2 * SECOND_US
RAPID_US = SECOND_US // 2
RINGING_US = 5 * SECOND_US
STROKE_US = SECOND_US // 5
STROKES_APART_US = SECOND_US

BLASTS_EXAMPLE = "blasts prolonged short short every 2 min"

SIGNALS: dict[str, tuple[str, int]] = {
    "making way": ("prolonged", 120),
    "stopped": ("prolonged prolonged", 120),
    "restricted": ("prolonged short short", 120),
    "towed": ("prolonged short short short", 120),
    "pilot": ("short short short short", 120),
    "anchored": ("bell", 60),
    "anchored whistle": ("short prolonged short", 60),
    "aground": ("strokes bell strokes", 60),
}
"""Rule 35 by name: "fog signal stopped". For each its blasts and its longest interval in seconds;
"restricted" is of all vessels that Rule 35 (c) names. The bell of an anchored vessel is one output,
which rings for 5 s or strikes."""

_BLASTS = re.compile(r"blasts\s+(?P<blasts>[a-z ]+?)(?:\s+every\s+(?P<every>[0-9].*))?")
_FOG = re.compile(r"fog signal\s+(?P<name>[a-z ]+?)(?:\s+every\s+(?P<every>[0-9].*))?")
DOUBT = "blasts doubt"
"""Rule 34 (d): at least five short and rapid blasts."""


def signal(text: str) -> tuple[list[Span], bool] | None:
    """The stretches of a sound signal and whether it repeats; None if `text` is none. Raises
    Wrong."""
    if text == DOUBT:
        return [Span(True, RAPID_US), Span(False, RAPID_US)] * 5, False
    if text.startswith("blasts"):
        match = _BLASTS.fullmatch(text)
        names = match["blasts"].split() if match is not None else [""]
        if match is None or not all(name in LENGTH_US for name in names):
            raise Wrong("unknown-rhythm", "is no row of short and prolonged blasts", BLASTS_EXAMPLE)
        made = blasts(names)
        return _every(made, match["every"], 0) if match["every"] else (made, False)
    if text.startswith("fog signal"):
        match = _FOG.fullmatch(text)
        name = match["name"] if match is not None else ""
        if match is None or name not in SIGNALS:
            hint = nearest(name, SIGNALS)
            raise Wrong("unknown-rhythm", "is no signal of Rule 35", ", ".join(SIGNALS), hint)
        sounds, longest_s = SIGNALS[name]
        made = _bell(sounds.split()) if "bell" in sounds else blasts(sounds.split())
        return _every(made, match["every"] or f"{longest_s} s", longest_s * SECOND_US)
    return None


def blasts(names: list[str]) -> list[Span]:
    """Blasts in a row, without a silence at the end."""
    made: list[Span] = []
    before = ""
    for name in names:
        if before:
            apart = PROLONGED_APART_US if "prolonged" in (before, name) else SHORT_APART_US
            made.append(Span(False, apart))
        made.append(Span(True, LENGTH_US[name]))
        before = name
    return made


def _bell(names: list[str]) -> list[Span]:
    """Rapid ringing for about 5 s, and for a vessel aground three strokes before and after it."""
    made: list[Span] = []
    for name in names:
        if made and made[-1].on:
            made.append(Span(False, STROKES_APART_US))
        if name == "bell":
            made.append(Span(True, RINGING_US))
        else:
            stroke = [Span(True, STROKE_US), Span(False, STROKES_APART_US - STROKE_US)]
            made += [*stroke * 2, stroke[0]]
    return made


def _every(made: list[Span], every: str, longest_us: int) -> tuple[list[Span], bool]:
    """The signal with the silence until it begins again. `longest_us`: what Rule 35 allows."""
    interval = int(quantity(every.strip(), TIME)[0])
    length = sum(span.us for span in made)
    if longest_us and interval > longest_us:
        what = f"sounds every {seconds_text(interval)}"
        raise Wrong("rhythm-rule", what, f"at most {seconds_text(longest_us)} by Rule 35")
    if interval <= length:
        what = f"takes {seconds_text(length)}, longer than its interval"
        raise Wrong("rhythm-rule", what, f"more than {seconds_text(length)}")
    return [*made, Span(False, interval - length)], True
