"""From what is written to a pattern."""

from __future__ import annotations

from gen.rhythms import lights, morse, sounds, times
from gen.rhythms.pattern import STEADY, Pattern, pattern
from gen.units import Wrong

WORDS = (
    "a light's character such as Fl(2) 10s, times such as 'on 0.5 s, off 4.5 s', "
    "'morse SOS at 12 wpm', 'blasts short short' or 'fog signal making way'"
)


def read_rhythm(text: str) -> Pattern:
    """The pattern that `text` describes. Raises Wrong: `unknown-rhythm` if it is none that we know,
    `rhythm-rule` if it breaks a rule of its kind, and as gen.units for a time."""
    text = " ".join(text.split())
    if times.SEQUENCE.fullmatch(text):
        return pattern(times.sequence(text), repeats=True)
    if text.split(" ")[0] in ("on", "off"):
        listed, _, once = text.partition(" once")
        return pattern(times.listed(listed + once), repeats=not text.endswith(" once"))
    for reader in (morse.message, sounds.signal):
        if (found := reader(text)) is not None:
            return pattern(found[0], repeats=found[1])
    written, _, sequence = text.rpartition(" ")
    if times.SEQUENCE.fullmatch(sequence) and (light := lights.character(written)) is not None:
        given = times.sequence(sequence)
        lights.check(light, given)
        return pattern(given, repeats=True)
    light = lights.character(text)
    if light is None:
        raise Wrong("unknown-rhythm", "is no rhythm that is known", WORDS)
    made = lights.spans(light)
    return pattern(made, repeats=True) if made else STEADY
