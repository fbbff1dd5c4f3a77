"""Small ships, of which everything can be tried. All are invented."""

from __future__ import annotations

from gen.load import Loaded, load_text

PRAM = """\
ship: Pram
board: nano
receiver:
  lost after: 60 ms
  channels:
    left: D2
    right: D3
controls:
  left key: {from: left}
  right key: {from: right}
outputs:
  lamp: D4
  siren: D5
  motor: {out: D6, in: D7}
functions:
"""

USED = {
    "    left: D2\n": "left key",
    "    right: D3\n": "right key",
    "  left key: {from: left}\n": "left key",
    "  right key: {from: right}\n": "right key",
    "  lamp: D4\n": "lamp",
    "  siren: D5\n": "siren",
    "  motor: {out: D6, in: D7}\n": "motor",
}
"""Lines that are there only if the functions speak of this."""

WINCH = """\
  reel:
    winch: {out: left key down, in: left key up}
    drives: motor
    limit: {out: 0.06 s, in: 0.08 s}
    pause: 0.03 s
"""
LAMP = "  light: {toggle: left key up, drives: lamp}\n"
BELL = "  bell: {pulse: left key down, for: 0.08 s, drives: siren}\n"
FIRST = "  bell: {momentary: right key down, drives: siren, first: light for 0.05 s}\n"
NEVER = "  bell: {momentary: right key down, drives: siren, never with: light}\n"
LOSS = "  bell: {momentary: left key down, drives: siren, on loss: keep}\n"

TURNED = ("{out: left key down, in: left key up}", "{out: left key up, in: left key down}")


def settled(pulses: str) -> tuple[str, str]:
    """A key that settles otherwise."""
    return "left key: {from: left}", f"left key: {{from: left, settle: {pulses}}}"


CASES = {
    "limit": (WINCH, ("out: 0.06 s", "out: 0.08 s")),
    "other limit": (WINCH, ("in: 0.08 s", "in: 0.06 s")),
    "pause": (WINCH, ("pause: 0.03 s", "pause: 0.05 s")),
    "no pause": (WINCH, ("    pause: 0.03 s\n", "    pause: 0 s\n")),
    "direction": (WINCH, TURNED),
    "toggle": (LAMP, ("toggle", "momentary")),
    "key": (LAMP, ("key up", "key down")),
    "pulse": (BELL, ("0.08 s", "0.1 s")),
    "retriggered": (BELL, ("pulse: left key down, for: 0.08 s", "momentary: left key down")),
    "loss": (LOSS, (", on loss: keep", "")),
    "loss on": (LOSS, ("on loss: keep", 'on loss: "on"')),
    "first": (LAMP + FIRST, (" for 0.05 s", " for 0.08 s")),
    "no first": (LAMP + FIRST, (", first: light for 0.05 s", "")),
    "never": (LAMP + NEVER, (", never with: light", "")),
    "settle": (WINCH, settled("3 pulses")),
    "settle of a toggle": (LAMP, settled("1 pulse")),
    "lost after": (LOSS, ("lost after: 60 ms", "lost after: 80 ms")),
}  # fmt: skip
"""What is changed in which ship."""


def pram(functions: str, change: tuple[str, str] = ("", "")) -> Loaded:
    """A pram with these functions, changed."""
    text = PRAM
    for line, word in USED.items():
        text = text if word in functions else text.replace(line, "")
    text += functions
    changed = text.replace(*change) if change[0] else text
    assert changed != text or not change[0]
    return load_text(changed.encode(), "pram.yaml")
