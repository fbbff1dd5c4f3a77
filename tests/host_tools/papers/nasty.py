"""A ship whose names are as long, as foreign and as hostile as a ship file allows."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from gen.diagnostics import Problems
from gen.load import load
from gen.read.trial_steps import read_trials
from host_tools.electrical.of_ship import electrics_of
from host_tools.papers.facts import Facts

if TYPE_CHECKING:
    from collections.abc import Mapping

STARTERS = Path(__file__).parents[3] / "templates" / "ships"

LONGEST = "Unterwasserschallwellenempfängerhalterungsbeleuchtungsanlage"
"""Sixty letters without a space."""

SCRIPTS = ("船首楼の投光器", "якорный огонь", "φανός αγκυροβολίας", "ضوء المرساة", "पोत का भोंपू")
TAG = "&lt;b&gt; $x_1^2$ ]]&"
FORMULA = "=HYPERLINK(1)"
STYLE = "} @page { size: 1mm } &amp; $x_1^2$"
WORDS = "the light on the port side of the foredeck by the windlass"

SHIP = f"""
ship: '{STYLE}'
code name: nasty
remark: '{TAG}'
board: mega
board supply: low
receiver:
  channels:
    '{LONGEST}': {{pin: D10, code name: a}}
    '{SCRIPTS[0]}': {{pin: D11, code name: b}}
    '{TAG}': {{pin: D12, code name: c}}
    '{FORMULA}': {{pin: D13, code name: d}}
controls:
  '{LONGEST}': {{from: '{LONGEST}', code name: ka, colour: '{SCRIPTS[1]}'}}
  '{SCRIPTS[0]}': {{from: '{SCRIPTS[0]}', code name: kb, colour: red}}
  '{TAG}': {{from: '{TAG}', kind: stick, code name: kc, colour: '{TAG}'}}
  '{FORMULA}': {{from: '{FORMULA}', code name: kd}}
outputs:
  '{LONGEST}': {{pin: D22, active: low, code name: oa}}
  '{SCRIPTS[0]}': {{pin: D23, kind: transistor, code name: ob}}
  '{TAG}': {{pin: D5, kind: servo, code name: oc, power: {{supply: low, draws: 0.2 A}}}}
  '{FORMULA}': {{'{WORDS}': D24, '@{LONGEST[2:]}': D25, code name: od}}
  '{WORDS} 2': {{pin: D26, coil: {{supply: low, draws: 72 mA}}, code name: oe}}
functions:
  '{LONGEST}':
    toggle: '{LONGEST} up'
    drives: '{LONGEST}'
    code name: fa
    load: {{supply: '{LONGEST}', draws: 1 A, kind: lamp, colour: '{FORMULA}'}}
  '{SCRIPTS[0]}':
    momentary: '{SCRIPTS[0]} up'
    drives: '{SCRIPTS[0]}'
    only while: '{LONGEST}'
    code name: fb
    load: {{supply: low, draws: 1 A, kind: motor}}
  '{TAG}': {{follow: '{TAG}', drives: '{TAG}', code name: fc}}
  '{FORMULA}':
    winch: {{'{WORDS}': '{FORMULA} down', '@{LONGEST[2:]}': '{FORMULA} up'}}
    limit: {{'{WORDS}': 3 s, '@{LONGEST[2:]}': 4 s}}
    drives: '{FORMULA}'
    code name: fd
    load: {{supply: '{LONGEST}', draws: 1 A, stalls: 4 A, kind: motor}}
  '{WORDS} 2':
    pulse: '{SCRIPTS[0]} down'
    for: 2 s
    drives: '{WORDS} 2'
    code name: fe
    loads:
      '{LONGEST}': {{supply: low, draws: 1 A, kind: solenoid, hand switch: yes}}
      '{SCRIPTS[3]}': {{supply: low, draws: 1 A, kind: lamp}}
supplies:
  '{LONGEST}': {{voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid, fuse: auto}}
  '{TAG}': {{from: '{LONGEST}', fuse: auto}}
  low: {{from: '{TAG}', voltage: 6 V, rating: 5 A, efficiency: 88 %, fuse: 5 A}}
harness:
  '{SCRIPTS[4]} {TAG}':
    contacts: 9
    rating: 3 A
    carries: ['{LONGEST}', spare, '{FORMULA}']
trials:
  '+{LONGEST[1:]}':
    - press {LONGEST} up
    - expect {LONGEST} on
  '{FORMULA}':
    - hold {SCRIPTS[0]} up
    - expect {SCRIPTS[0]} off for 1 s
"""


def facts_of(path: Path) -> Facts:
    """A ship file as papers take it."""
    loaded = load(path)
    trials = read_trials(loaded.ship, loaded.plan, Problems(str(path)))
    electrics = electrics_of(loaded.ship, loaded.plan, loaded.board)
    return Facts.of(loaded.ship, loaded.plan, loaded.board, trials, electrics)


def changed(starter: str, folder: Path, changes: Mapping[str, str]) -> Path:
    """A starter with some of its text replaced."""
    text = (STARTERS / f"{starter}.yaml").read_text(encoding="utf-8")
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    path = folder / f"{starter}.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def nasty(folder: Path) -> Path:
    """The nasty ship's file."""
    path = folder / "nasty.yaml"
    path.write_text(SHIP, encoding="utf-8")
    return path
