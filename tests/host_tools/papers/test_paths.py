"""The way from the battery to a lamp, followed by hand."""

from __future__ import annotations

import re

from gen.diagnostics import Place
from host_tools.electrical.electrics import Terminal, Wire
from host_tools.electrical.figure import Figure
from host_tools.papers.paths import path_to
from host_tools.papers.sheet import Figures
from host_tools.papers.sheets.circuits import circuits_sheet
from tests.host_tools.papers.nasty import STARTERS, facts_of


def test_the_way_to_a_lamp_behind_a_relay() -> None:
    facts = facts_of(STARTERS / "launch.yaml")
    assert facts.electrics is not None
    wires = facts.electrics.wires
    path = path_to(wires, Terminal("navigation lights", "+"))
    parts = [one.part for one in path.parts]
    assert parts[-1] == "light relay"
    assert (path.parts[-1].entered, path.parts[-1].left) == ("COM", "NO")
    assert "12 V" in parts
    fuses = [one for one in path.parts if one.part.startswith("F")]
    assert [(one.entered, one.left) for one in fuses] == [("in", "out")] * len(fuses)
    last = next(wire for wire in wires if wire.number == path.last)
    assert last.to == Terminal("navigation lights", "+")
    # Wire by wire: each begins at the part at which the one before has ended.
    numbers = [*(one.wire for one in path.parts), path.last]
    way = [next(wire for wire in wires if wire.number == number) for number in numbers]
    for one, following, passed in zip(way, way[1:], path.parts, strict=False):
        assert one.to.part == following.from_.part == passed.part


def wire(number: str, start: tuple[str, str], end: tuple[str, str]) -> Wire:
    amp = Figure("x", "its current", 1.0, "A", "", (), "")
    return Wire(
        *(number, Terminal(*start), Terminal(*end), 1.0, "1 mm2", "red", None, ("x",), amp, None),
        fuse="",
        place=Place(1, 1),
    )


def test_contact_2_of_a_plug_is_no_switch() -> None:
    """A hand switch is entered by 1 and left by 2; a plug's contact 2 is entered by itself."""
    wires = [
        wire("W1", ("12 V", "+"), ("plug", "1")),
        wire("W2", ("12 V", "+"), ("plug", "2")),
        wire("W3", ("plug", "2"), ("lamp switch", "1")),
        wire("W4", ("lamp switch", "2"), ("lamp", "+")),
    ]
    path = path_to(wires, Terminal("lamp", "+"))
    assert [(one.part, one.entered, one.left, one.wire) for one in path.parts] == [
        ("plug", "2", "2", "W2"),
        ("lamp switch", "1", "2", "W3"),
    ]
    assert path.last == "W4"


def test_each_way_of_a_motor_has_the_wire_of_its_own_relay() -> None:
    facts = facts_of(STARTERS / "launch.yaml")
    assert facts.electrics is not None
    figures = [
        one for block in circuits_sheet(facts).blocks if isinstance(block, Figures)
        for one in block.figures if one.key == "capstan"
    ]  # fmt: skip
    texts = re.findall(r">([^<]+)<", figures[0].svg)
    for way, pin in (("heave", "D7"), ("pay out", "D6")):
        letter = next(text[0] for text in texts if f"capstan motor {way}: pin {pin}" in text)
        relay = Terminal(f"capstan motor {way}", "COM")
        wire = next(one.number for one in facts.electrics.wires if one.from_ == relay)
        places = re.findall(r'<text x="([\d.]+)"[^>]*>([^<]+)<', figures[0].svg)
        at = {text: float(x) for x, text in places}
        others = [one for one in ("a", "b") if one != letter]
        assert abs(at[wire] - at[letter]) < abs(at[wire] - at[others[0]])


def test_no_way_to_what_is_not_there() -> None:
    facts = facts_of(STARTERS / "launch.yaml")
    assert facts.electrics is not None
    assert path_to(facts.electrics.wires, Terminal("moon", "+")).parts == ()
