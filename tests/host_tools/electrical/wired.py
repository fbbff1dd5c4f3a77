"""A small ship with everything electrical, for tests to change a word of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.load import Loaded, load_text
from host_tools.electrical.of_ship import Summed, sum_up

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics, Wire

WIRED = """\
ship: Gannet
board: nano
receiver:
  channels: {keys: D2, more keys: D3, knobs: D4}
controls:
  key: keys
  winch key: more keys
  knob: {from: knobs, kind: knob}
outputs:
  relay 1: {pin: D5, active: low, coil: {supply: 6 V, draws: 72 mA}, contacts: 10 A}
  gate 1: {pin: D6, kind: transistor}
  davit pair: {lower: D7, raise: D8, coil: {supply: 6 V, draws: 72 mA}}
  servo: {pin: D9, kind: servo, power: {supply: 6 V, draws: 0.2 A, stalls: 1.2 A}}
functions:
  lamps:
    toggle: key up
    drives: relay 1
    loads:
      fore lamp: {supply: 12 V, draws: 0.5 A, kind: lamp, hand switch: yes, length: 1 m}
      aft lamp: {supply: 12 V, draws: 0.3 A, kind: lamp, hand switch: yes, length: 2 m}
  bell:
    pulse: key down
    for: 0.5 s
    drives: gate 1
    load: {supply: 6 V, draws: 0.8 A, length: 1 m}
  davit:
    winch: {lower: winch key down, raise: winch key up}
    limit: {lower: 5 s, raise: 6 s}
    drives: davit pair
    load: {supply: 12 V, draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m}
  arm: {follow: knob, drives: servo}
supplies:
  battery: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid}
  12 V: {from: battery, fuse: auto, length: 0.5 m}
  6 V: {from: 12 V, voltage: 6 V, rating: 5 A, efficiency: 90 %, fuse: auto, length: 0.3 m}
board supply: 6 V
always on:
  receiver: {supply: 6 V, draws: 50 mA, length: 0.3 m}
harness:
  plug:
    contacts: 9
    rating: 7.5 A
    wire: 1.5 mm2
    length: 0.6 m
    carries: [lamps, davit, arm, receiver]
"""


def changed(*changes: tuple[str, str]) -> str:
    """The ship file with each first text put in the place of the second."""
    text = WIRED
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def loaded(*changes: tuple[str, str]) -> Loaded:
    """The changed ship."""
    return load_text(changed(*changes).encode(), "gannet.yaml")


def summed(*changes: tuple[str, str]) -> Summed:
    """All sums of the changed ship, with what they were made from."""
    ship = loaded(*changes)
    return sum_up(ship.ship, ship.plan, ship.board)


def electrics(*changes: tuple[str, str]) -> Electrics:
    """All sums of the changed ship."""
    return summed(*changes).electrics


def codes(*changes: tuple[str, str]) -> list[str]:
    """What is found wrong with it."""
    return [finding.code for finding in electrics(*changes).findings]


def wire(made: Electrics, start: str, end: str) -> Wire | None:
    """The one wire between two terminals, None if there is none."""
    found = [one for one in made.wires if (one.from_.text, one.to.text) == (start, end)]
    assert len(found) < 2
    return found[0] if found else None
