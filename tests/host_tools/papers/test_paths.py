"""The way from the battery to a lamp, followed by hand."""

from __future__ import annotations

from host_tools.electrical.electrics import Terminal
from host_tools.papers.paths import path_to
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


def test_no_way_to_what_is_not_there() -> None:
    facts = facts_of(STARTERS / "launch.yaml")
    assert facts.electrics is not None
    assert path_to(facts.electrics.wires, Terminal("moon", "+")).parts == ()
