"""Every example of the guide's page on drums and small parts is part of a ship that is without a
fault, and the numbers that the page tells of it are those that the sums find."""

from __future__ import annotations

import re

import pytest

from gen.load import Loaded, load_text
from gen.resolve.outputs import with_lines_of_registers
from gen.resources import resource
from host_tools.electrical.consumers import feeds_of
from host_tools.electrical.explain import figures_in
from host_tools.electrical.figure import Given
from host_tools.electrical.found import Found, together
from host_tools.electrical.reachable import Allowed
from host_tools.electrical.small_parts import small_parts
from host_tools.electrical.tree import Tree
from host_tools.electrical.winches import winches

PAGE = (resource("templates") / "guide" / "parts.md").read_text(encoding="utf-8")

HEAD = """ship: Example
board: nano
receiver: {channels: {keys: D3}}
controls: {davit key: {from: keys}}
supplies: {battery: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid}}
"""
OUTPUTS = {
    "A winch and its drum": "outputs: {davit pair: {lower: D6, raise: D7}}\n",
    "LEDs": "outputs: {relay one: D5}\n",
    "Driver arrays": "",
}


def sections() -> dict[str, tuple[str, str]]:
    """The text and the example below each heading that has one."""
    found = {}
    for part in PAGE.split("\n## ")[1:]:
        title, _, text = part.partition("\n")
        example = re.search(r"```yaml\n(.*?)```", text, re.DOTALL)
        if example is not None:
            found[title] = text, example.group(1)
    return found


def loaded(title: str) -> Loaded:
    return load_text((HEAD + OUTPUTS[title] + sections()[title][1]).encode(), "guide.yaml")


def found_of(title: str) -> Found:
    ship, plan = with_lines_of_registers(loaded(title).ship), loaded(title).plan
    feeds = feeds_of(ship, plan, [])
    parts = small_parts(
        ship,
        plan,
        feeds=feeds,
        tree=Tree(ship, feeds, plan.source),
        allowed=Allowed(plan),
        ambient_c=Given("temperature", 40.0, "C", "test"),
    )
    return together((winches(ship, plan.source), parts))


def shown(title: str, what: str) -> str:
    (figure,) = [one for one in figures_in(found_of(title)) if one.what == what]
    return figure.shown()


def test_every_example_is_tried() -> None:
    assert sections().keys() == OUTPUTS.keys()


@pytest.mark.parametrize("title", OUTPUTS)
def test_an_example_holds(title: str) -> None:
    assert loaded(title).problems == []
    assert found_of(title).findings == ()


@pytest.mark.parametrize(
    ("title", "what", "told"),
    [
        ("A winch and its drum", "proposed limit each way", "76.4 s"),
        ("A winch and its drum", "travel of a turn in layer 1", "27.6 mm"),
        ("A winch and its drum", "travel of a turn in layer 3", "37.7 mm"),
        ("A winch and its drum", "run time", "76.5 s"),
        ("A winch and its drum", "pull in layer 1", "109 N"),
        ("A winch and its drum", "pull in layer 3", "80 N"),
        ("LEDs", "resistor", "270 ohm"),
        ("LEDs", "current of a string at the highest voltage", "17.8 mA"),
        ("LEDs", "current of a string", "8.89 mA"),
    ],
)
def test_the_page_tells_what_the_sums_find(title: str, what: str, told: str) -> None:
    assert shown(title, what) == told
    assert told in sections()[title][0]
