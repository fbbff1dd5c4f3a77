"""What must hold of every ship's sums, whatever it draws."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.host_tools.electrical.wired import electrics, summed

if TYPE_CHECKING:
    from host_tools.electrical.of_ship import Summed

DAVIT = "draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m"
FORE = "draws: 0.5 A, kind: lamp, hand switch: yes, length: 1 m"
BELL = "load: {supply: 6 V, draws: 0.8 A, length: 1 m}"
TWELVE = "12 V: {from: battery, fuse: auto, length: 0.5 m}"
PLUG = "    rating: 7.5 A\n    wire: 1.5 mm2\n"

milliamperes = st.integers(10, 4000)
sizes = st.sampled_from(["auto", "0.25 mm2", "0.5 mm2", "1 mm2", "AWG 18", "2.5 mm2"])
fuses = st.sampled_from(["auto", "none", "1 A", "3 A", "10 A"])


def drawn(draw: st.DataObject) -> Summed:
    """The small ship with drawn currents, wires, fuses and plug."""
    davit, fore, bell = (draw.draw(milliamperes) for _ in range(3))
    stalls = davit + draw.draw(milliamperes)
    surge = fore + draw.draw(milliamperes)
    have = ", ".join(draw.draw(st.lists(sizes.filter("auto".__ne__), min_size=1, max_size=4)))
    column = draw.draw(st.sampled_from(["bundle", "free air"]))
    return summed(
        (DAVIT, f"draws: {davit} mA, stalls: {stalls} mA, fuse: {draw.draw(fuses)},"
         f" wire: {draw.draw(sizes)}, kind: motor, length: 1 m"),
        (FORE, f"draws: {fore} mA, surge: {surge} mA, wire: {draw.draw(sizes)}, length: 1 m"),
        (BELL, f"load: {{supply: 6 V, draws: {bell} mA, fuse: {draw.draw(fuses)},"
         f" wire: {draw.draw(sizes)}, length: 1 m}}"),
        (TWELVE, TWELVE.replace("auto", draw.draw(fuses), 1)),
        (PLUG, f"    rating: {draw.draw(st.integers(1, 10))} A\n    wire: {draw.draw(sizes)}\n"),
        (
            "board supply: 6 V",
            f"board supply: 6 V\nwires: {{have: [{have}], ampacity: {column}}}",
        ),
    )  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_fuse_is_never_above_its_wire_or_it_is_told(draw: st.DataObject) -> None:
    made = drawn(draw)
    told = " ".join(
        f"{finding.what} {finding.place.line}."
        for finding in made.electrics.findings
        if finding.code in ("fuse-too-large", "fuse-unfit", "wire-too-thin", "no-such-wire")
    )
    fuses = {made.protecting.numbers.get(id(one)): one.fuse_place.line for one in made.circuits}
    for circuit in made.circuits:
        before = made.protecting.behind(circuit)
        sized = made.sizing.of(circuit)
        if before.most is None or not circuit.is_wired:
            continue
        line = f" {fuses.get(before.fuse, circuit.place.line)}."
        for run in (sized.run, *(cable for _, cable in sized.cables)):
            if before.most.value > run.ampacity.value + 1e-9:
                assert line in told or f"'{circuit.name}'" in told


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_fuse_that_was_chosen_is_never_above_what_it_protects(draw: st.DataObject) -> None:
    made = drawn(draw)
    for circuit in made.circuits:
        chosen = made.protecting.chosen.get(id(circuit))
        if circuit.fuse == "auto" and chosen is not None and chosen.rating is not None:
            assert chosen.rating.value <= chosen.most.value + 1e-9
            assert chosen.rating.value <= made.sizing.of(circuit).run.ampacity.value + 1e-9
            assert chosen.rating.value * 0.75 >= circuit.currents.worst.value - 1e-9
            for plug, cable in made.sizing.of(circuit).cables:
                assert chosen.rating.value <= plug.allowed.value + 1e-9
                assert chosen.rating.value <= cable.ampacity.value + 1e-9


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_the_worst_is_never_above_the_plain_sum(draw: st.DataObject) -> None:
    for branch in drawn(draw).electrics.branches:
        assert branch.worst.value <= branch.plain.value + 1e-9
        for more in (branch.surge, branch.stalls):
            assert more is None or more.value >= branch.worst.value - 1e-9


@settings(max_examples=25, deadline=None)
@given(milliamperes, milliamperes, st.booleans())
def test_a_load_that_draws_more_lowers_no_current(
    draws: int, more: int, on_the_regulator: bool
) -> None:
    def currents(milli: int) -> dict[str, tuple[float, float]]:
        load = f"draws: {milli} mA, length: 1 m"
        if on_the_regulator:
            made = electrics((BELL, f"load: {{supply: 6 V, {load}}}"))
        else:
            made = electrics((DAVIT, load))
        return {one.name: (one.plain.value, one.worst.value) for one in made.branches}

    before, after = currents(draws), currents(draws + more)
    for name, (plain, worst) in before.items():
        assert after[name][0] >= plain - 1e-12
        assert after[name][1] >= worst - 1e-12


@settings(max_examples=15, deadline=None)
@given(milliamperes)
def test_a_load_that_is_added_lowers_no_current(draws: int) -> None:
    """Something that is always on, added to a ship."""
    receiver = "receiver: {supply: 6 V, draws: 50 mA, length: 0.3 m}"
    sound = f"sound: {{supply: 12 V, draws: {draws} mA}}"
    before = electrics()
    after = electrics((receiver, f"{receiver}\n  {sound}"))
    for branch in before.branches:
        now = after.branch(branch.name)
        assert now is not None
        assert now.worst.value >= branch.worst.value - 1e-12
        assert now.plain.value >= branch.plain.value - 1e-12
    (twelve_before, twelve_after) = (one.branch("12 V") for one in (before, after))
    assert twelve_before is not None
    assert twelve_after is not None
    assert twelve_after.worst.value > twelve_before.worst.value


SIZES = ["0.25 mm2", "AWG 22", "0.5 mm2", "AWG 18", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2"]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 6), st.integers(1, 7), milliamperes, st.integers(1, 200))
def test_a_thicker_wire_never_loses_more_and_never_carries_less(
    thin: int, more: int, draws: int, tenths_m: int
) -> None:
    def lost(size: str) -> tuple[float, float]:
        load = f"draws: {draws} mA, wire: {size}, length: {tenths_m / 10} m"
        branch = electrics((BELL, f"load: {{supply: 6 V, {load}}}")).branch("bell")
        assert branch is not None
        assert branch.drop is not None
        return branch.drop.value, branch.bears.value

    thinner, thicker = lost(SIZES[thin]), lost(SIZES[min(thin + more, 7)])
    assert thicker[0] <= thinner[0]
    assert thicker[1] >= thinner[1]


def test_more_returns_never_carry_more_each() -> None:
    draw = random.Random(1)
    for _ in range(6):
        milli = draw.randrange(100, 3000)
        each = []
        for returns in (1, 2, 3):
            made = electrics(
                (FORE, f"draws: {milli} mA, kind: lamp, length: 1 m"),
                (PLUG, PLUG + f"    returns: {returns}\n"),
            )
            (plug,) = made.connectors
            assert len(plug.returns) == returns
            each.append(
                [c.current.value for c in plug.contacts if c.carries == "return" and c.current]
            )
        assert each[0][0] >= each[1][0] >= each[2][0]
