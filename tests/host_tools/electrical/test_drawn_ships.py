"""Whatever a ship file says, its sums come to an end, and hold together."""

from __future__ import annotations

import json

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from gen.diagnostics import ShipError
from gen.load import load_text
from host_tools.cli.power_json import as_json
from host_tools.cli.power_tables import TABLES
from host_tools.electrical.explain import explained, known
from host_tools.electrical.of_ship import Summed, sum_up
from host_tools.electrical.told import problems_of
from tests.host_tools.electrical.drawn_ship import Drawn


def summed(seed: int) -> Summed:
    """The sums of a drawn ship. One that is wrong in itself is not looked at any further."""
    try:
        loaded = load_text(Drawn(seed).text.encode(), "gannet.yaml")
    except ShipError:
        assume(condition=False)
        raise
    return sum_up(loaded.ship, loaded.plan, loaded.board)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 1_000_000))
def test_everything_can_be_told(seed: int) -> None:
    made = summed(seed).electrics
    for table in TABLES.values():
        assert all(line.isprintable() for line in table(made))
    assert json.loads(json.dumps(as_json(made), allow_nan=False))
    assert all(explained(made, name) for name in known(made))
    assert len(problems_of(made, "gannet.yaml")) == len(made.findings)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 1_000_000))
def test_wires_hold_together(seed: int) -> None:
    made = summed(seed).electrics
    ends = [(wire.from_, wire.to) for wire in made.wires]
    assert len(set(ends)) == len(ends)
    assert not [wire for wire in made.wires if wire.from_ == wire.to]
    numbers = {fuse.number for fuse in made.fuses}
    assert {wire.fuse for wire in made.wires} <= numbers | {""}
    into = {wire.to.part for wire in made.wires if wire.to.point == "in"}
    out_of = {wire.from_.part for wire in made.wires if wire.from_.point == "out"}
    assert numbers <= into
    assert numbers <= out_of
    wired = {wire.number for wire in made.wires}
    for connector in made.connectors:
        assert {contact.wire for contact in connector.contacts} <= wired | {""}


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 1_000_000))
def test_a_wire_bears_the_fuse_before_it_or_somebody_is_told(seed: int) -> None:
    made = summed(seed).electrics
    told = {
        finding.code
        for finding in made.findings
        if finding.code in ("fuse-too-large", "fuse-unfit", "wire-too-thin", "no-such-wire")
    }
    bears = {branch.name: branch.bears.value for branch in made.branches if branch.wire}
    for fuse in made.fuses:
        assert told or fuse.rating_a <= bears[fuse.branch] + 1e-9


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 1_000_000))
def test_no_branch_is_worse_than_all_of_it(seed: int) -> None:
    for branch in summed(seed).electrics.branches:
        assert 0 <= branch.worst.value <= branch.plain.value + 1e-9
