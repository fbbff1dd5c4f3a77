"""The two ships on which faults are tried, and what is known of each without its model."""

from __future__ import annotations

from pathlib import Path
from string import Template

from gen.load import Loaded, load_text

SHIP = Template(Path(__file__).with_name("ship.yaml").read_text(encoding="utf-8"))

RECEIVERS = {
    "own pins": """\
  channels:
    steering:     D2
    bridge key:   {pin: D3, lost below: 930 us}
    anchor stick: D4
    hoist stick:  D5
    deck row:     D6
    switch box:   {pin: D7, shares: 4 slots, marker: below 950 us}""",
    "sum signal": """\
  sum signal:
    pin: D2
    channels: [steering, bridge key, anchor stick, unused, hoist stick, deck row, switch box]
    gap: 2700 us
  channels:
    switch box: {shares: 4 slots, marker: below 950 us}""",
}


def ship(receiver: str) -> Loaded:
    """The ship with one of RECEIVERS."""
    text = SHIP.substitute(receiver=RECEIVERS[receiver])
    return load_text(text.encode(), "hard_lines.yaml")
