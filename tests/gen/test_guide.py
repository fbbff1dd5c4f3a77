"""Every example of the guide's page on the ship file is part of a ship that is without a fault."""

from __future__ import annotations

import re

import pytest

from gen.load import load_text
from gen.resources import resource

PAGE = (resource("templates") / "guide" / "ship-file.md").read_text(encoding="utf-8")

KEY = """
receiver: {channels: {keys: D3}}
controls: {key: {from: keys}}
"""

REST = {
    "The ship file": "",
    "A sum signal": """
controls:
  key: {from: keys}
  wheel: {from: rudder, kind: stick}
  lever: {from: throttle, kind: stick}
outputs: {relay: D5, rudder servo: {pin: D9, kind: servo}, controller: {pin: D10, kind: servo}}
functions:
  lamp: {toggle: key up, drives: relay}
  steering: {follow: wheel, drives: rudder servo}
  engine: {follow: lever, drives: controller}
""",
    "A shared channel": """
outputs: {relay: D5, lamp: {pin: D11, kind: dimmer}}
functions:
  deck lights: {toggle: deck key up, drives: relay}
  cabin lights: {dimmer: deck lights, level: light knob, drives: lamp}
""",
    "Sensors": KEY
    + """
outputs: {relay: D5, winch pair: {lower: D8, raise: D10}}
functions:
  pump: {auto: bilge sensor above 2.5 V, drives: relay}
  davit:
    winch: {lower: key down, raise: key up}
    limit: {lower: 5 s, raise: 5 s}
    ends: {raise: end stop closed}
    drives: winch pair
""",
    "Outputs": KEY
    + """
functions:
  lamp: {toggle: key up, drives: light relay}
  davit:
    winch: {lower: key down, raise: key up}
    limit: {lower: 5 s, raise: 5 s}
    drives: davit motor
""",
    "A battery that runs down": KEY
    + """
outputs: {one: D5, two: D6, three: D7}
functions:
  work lights: {toggle: key up, drives: one}
  radar: {toggle: key down, drives: two}
  deck lights: {auto: radar on, drives: three}
""",
}
"""What each example leaves out, by the heading it stands under."""


def examples() -> dict[str, str]:
    """The examples by the last heading before them."""
    found: dict[str, str] = {}
    heading = ""
    for title, example in re.findall(
        r"^#+ ([^\n]+)$|```yaml\n(.*?)```", PAGE, re.DOTALL | re.MULTILINE
    ):
        if title:
            heading = title
        else:
            assert heading not in found
            found[heading] = example
    return found


def test_every_example_is_tried() -> None:
    assert examples().keys() == REST.keys()


@pytest.mark.parametrize("heading", REST)
def test_an_example_holds(heading: str) -> None:
    example = examples()[heading]
    head = "" if example.startswith("ship:") else "ship: Example\nboard: nano\n"
    loaded = load_text((head + example + REST[heading]).encode(), "guide.yaml")
    assert loaded.problems == []
    assert loaded.plan.functions
