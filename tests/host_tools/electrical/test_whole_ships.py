"""What must be so of every ship, whatever its loads, wires and connectors are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from host_tools.electrical.fuses import KINDS, USED
from host_tools.electrical.wire import bundle_a, free_air_a
from tests.host_tools.electrical.wired import electrics

if TYPE_CHECKING:
    from host_tools.electrical.electrics import Electrics

UNSAFE_WIRES = {"fuse-too-large", "fuse-unfit", "wire-too-thin", "no-such-wire", "no-fuse"}
"""What is told where fuse and wire cannot be brought together."""

UNSAFE_CONTACTS = {"contact-overloaded", "few-returns", "wrong-contacts"}

Changes = tuple[tuple[str, str], ...]


@st.composite
def ships(draw: st.DrawFn) -> tuple[Changes, str]:
    """Changes of the wired ship, and the column by which its wires are judged."""

    def amperes(least: float, most: float) -> str:
        return f"{draw(st.integers(int(least * 100), int(most * 100))) / 100:g} A"

    lamp, other, motor = amperes(0.05, 5), amperes(0.05, 3), draw(st.integers(10, 300)) / 100
    stalls = motor * draw(st.sampled_from([1, 2, 4, 6]))
    column = draw(st.sampled_from(["bundle", "free air"]))
    kind = draw(st.sampled_from(list(KINDS)))
    metres = draw(st.integers(1, 60)) / 10
    changes = (
        ("fore lamp: {supply: 12 V, draws: 0.5 A", f"fore lamp: {{supply: 12 V, draws: {lamp}"),
        ("aft lamp: {supply: 12 V, draws: 0.3 A", f"aft lamp: {{supply: 12 V, draws: {other}"),
        ("draws: 1.5 A, stalls: 6 A", f"draws: {motor:g} A, stalls: {stalls:g} A"),
        ("fuse: auto, length: 0.5 m", f"fuse: auto, fuse kind: {kind}, length: {metres:g} m"),
        ("rating: 7.5 A", f"rating: {draw(st.sampled_from([1, 3, 5, 7.5]))} A"),
        (
            "wire: 1.5 mm2",
            f"wire: {draw(st.sampled_from(['auto', '0.25 mm2', '1.5 mm2', 'AWG 18']))}",
        ),
        ("board supply: 6 V", f"wires: {{ampacity: {column}}}\nboard supply: 6 V"),
    )
    return changes, column


def told(made: Electrics) -> set[str]:
    return {finding.code for finding in made.findings}


@settings(max_examples=60, deadline=None)
@given(ships())
def test_a_fuse_never_exceeds_its_wire_or_it_is_told(ship: tuple[Changes, str]) -> None:
    """The link from a strip to the fuse beside it is behind the strip's fuse and as thin as what
    follows: ISO 10133 lets it be so within 200 mm (from memory)."""
    changes, column = ship
    made = electrics(*changes)
    carries = bundle_a if column == "bundle" else free_air_a
    ratings = {fuse.number: fuse.rating_a for fuse in made.fuses}
    thin = [
        wire.number
        for wire in made.wires
        if wire.fuse and wire.size_mm2 and wire.to.part not in ratings
        if ratings[wire.fuse] > carries(wire.size_mm2) + 1e-9
    ]
    assert not thin or told(made) & UNSAFE_WIRES


@settings(max_examples=60, deadline=None)
@given(ships())
def test_a_fuse_bears_three_quarters_of_its_rating_for_hours_or_it_is_told(
    ship: tuple[Changes, str],
) -> None:
    made = electrics(*ship[0])
    for fuse in made.fuses:
        branch = made.branch(fuse.branch)
        assert branch is not None
        enough = branch.taken.value <= USED.value * fuse.rating_a + 1e-9
        assert enough or told(made) & {"fuse-too-small", "fuse-unfit"}


@settings(max_examples=60, deadline=None)
@given(ships())
def test_no_contact_carries_more_than_it_may_or_it_is_told(ship: tuple[Changes, str]) -> None:
    made = electrics(*ship[0])
    for plug in made.connectors:
        hot = [
            contact.number
            for contact in plug.contacts
            if contact.current is not None and contact.current.value > plug.allowed_a.value + 1e-9
        ]
        assert not hot or told(made) & UNSAFE_CONTACTS


@settings(max_examples=40, deadline=None)
@given(ships(), st.integers(1, 300), st.sampled_from(["battery", "12 V", "6 V"]))
def test_a_further_load_never_lowers_a_current(
    ship: tuple[Changes, str], milliamperes: int, supply: str
) -> None:
    added = f"  pilot: {{supply: {supply}, draws: {milliamperes} mA}}\nharness:"
    before, after = electrics(*ship[0]), electrics(*ship[0], ("harness:", added))
    for branch in before.branches:
        later = after.branch(branch.name)
        assert later is not None
        assert later.plain.value >= branch.plain.value - 1e-9
        assert later.worst.value >= branch.worst.value - 1e-9


@settings(max_examples=40, deadline=None)
@given(ships())
def test_the_worst_that_can_be_is_no_more_than_all_of_it(ship: tuple[Changes, str]) -> None:
    for branch in electrics(*ship[0]).branches:
        assert branch.worst.value <= branch.plain.value + 1e-9
