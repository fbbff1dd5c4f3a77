"""The sums of a whole ship, held against sums made by hand."""

from __future__ import annotations

import itertools

import pytest

from host_tools.electrical.figure import Figure, Given
from tests.host_tools.electrical.wired import codes, electrics, wire

LOWEST_V = 10.5
"""A 12 V lead-acid battery when it is empty: datasheet of a valve-regulated one, up to 0.2 C."""


def test_nothing_is_wrong_with_it() -> None:
    assert codes() == []
    assert electrics().missing == ()


def test_a_regulator_takes_by_its_voltages_and_its_efficiency() -> None:
    made = electrics()
    six = made.branch("6 V")
    assert six is not None
    # bell 0.8, servo 0.2, receiver 0.05, board 0.06 and a sourced pin (5 mA) for each high side,
    # coils: of the pair one, and that of the lamps
    board = 0.060 + 4 * 0.005 - 2 * 0.005 + 0.001 + 0.005
    assert six.plain.value == pytest.approx(0.8 + 0.2 + 0.05 + board + 3 * 0.072, abs=0.011)
    assert six.worst.value == pytest.approx(six.plain.value - 0.072)
    assert six.taken.value == pytest.approx(six.worst.value * 6 / (LOWEST_V * 0.9))


def test_every_branch_adds_up() -> None:
    made = electrics()
    twelve, battery = made.branch("12 V"), made.branch("battery")
    six = made.branch("6 V")
    assert twelve is not None
    assert battery is not None
    assert six is not None
    assert twelve.worst.value == pytest.approx(0.5 + 0.3 + 1.5 + six.taken.value)
    assert battery.worst.value == twelve.worst.value
    assert twelve.stalls is not None
    assert twelve.stalls.value == pytest.approx(twelve.worst.value + 6.0 - 1.5)
    assert (battery.parent, twelve.parent, six.parent) == ("", "battery", "12 V")
    assert (battery.of, twelve.of, six.of) == ("battery", "strip", "regulator")


def test_every_figure_leads_down_to_what_was_given() -> None:
    def grounds(figure: Figure | Given) -> list[Given]:
        if isinstance(figure, Given):
            return [figure]
        return [one for each in figure.given for one in grounds(each)]

    for branch in electrics().branches:
        for given in grounds(branch.worst):
            assert given.source
        if branch.worst.value:
            assert any(one.source.startswith("gannet.yaml:") for one in grounds(branch.worst))


def test_a_lamp_behind_a_relay_with_a_plug_and_a_switch() -> None:
    made = electrics()
    (fuse,) = (one for one in made.fuses if one.branch == "lamps")
    way = [
        *("12 V +", f"{fuse.number} in", f"{fuse.number} out", "relay 1 COM", "relay 1 NO"),
        *("plug 1", "lamps joint +", "lamps fore lamp switch 1", "lamps fore lamp switch 2"),
        *("lamps fore lamp +", "lamps fore lamp -", "lamps joint -", "plug returns"),
    ]
    through = {(f"{fuse.number} in", f"{fuse.number} out"), ("relay 1 COM", "relay 1 NO")}
    through |= {("lamps fore lamp switch 1", "lamps fore lamp switch 2")}
    through |= {("lamps fore lamp +", "lamps fore lamp -")}
    wires = [
        wire(made, start, end)
        for start, end in itertools.pairwise(way)
        if (start, end) not in through
    ]
    assert [one.fuse for one in wires if one is not None] == ["F1", *[fuse.number] * 7]
    (cable,) = (one for one in wires if one is not None and one.to.text == "plug 1")
    assert (cable.size_name, cable.length_m) == ("1.5 mm2", 0.6)
    back = wire(made, f"plug {made.connectors[0].returns[0]} (return)", "12 V -")
    assert back is not None
    assert set(back.carries) == {"lamps", "servo", "receiver"}


def test_a_motor_that_turns_both_ways_hangs_between_its_relays() -> None:
    made = electrics()
    (fuse,) = (one for one in made.fuses if one.branch == "davit")
    for way, end, contact in (("lower", "A", 2), ("raise", "B", 3)):
        assert wire(made, f"{fuse.number} out", f"davit pair {way} NO")
        assert wire(made, f"davit pair {way} NC", "12 V -")
        assert wire(made, f"davit pair {way} COM", f"plug {contact}")
        assert wire(made, f"plug {contact}", f"davit {end}")


def test_a_transistor_switches_to_0_v() -> None:
    made = electrics()
    (fuse,) = (one for one in made.fuses if one.branch == "bell")
    assert wire(made, f"{fuse.number} out", "bell +")
    assert wire(made, "bell -", "gate 1 drain")
    assert wire(made, "gate 1 source", "6 V out -")


def test_wires_have_numbers_of_their_own() -> None:
    wires = electrics().wires
    assert [one.number for one in wires] == [f"W{n}" for n in range(1, len(wires) + 1)]
    ends = [(one.from_, one.to) for one in wires]
    assert len(set(ends)) == len(ends)


def test_a_connector_tells_what_returns() -> None:
    (plug,) = electrics().connectors
    carried = [contact.carries for contact in plug.contacts]
    assert carried[:7] == [
        *("lamps", "davit lower", "davit raise", "arm power", "arm signal", "receiver", "free"),
    ]
    assert carried[-1] == "return"
    # What turns both ways comes back by its other wire.
    assert plug.returned.value == pytest.approx(0.5 + 0.3 + 0.2 + 0.05)


def test_a_stalled_winch_blows_its_fuse_before_its_run_limit() -> None:
    (fuse,) = (one for one in electrics().fuses if one.branch == "davit")
    assert fuse.rating_a == 3  # 1.5 A / 0.75 = 2 A; 6 A at the start would blow that too soon
    assert fuse.blows_on_stall.startswith("held fast (6 A) it opens within 0.15 s to 5 s")
    assert fuse.blows_on_stall.endswith("before the run limit of 6 s")


def test_a_fuse_protects_what_has_none_of_its_own_behind_it() -> None:
    load = "load: {supply: 12 V, draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m}"
    thin = load.replace("kind", "fuse: none, wire: 0.5 mm2, kind")
    unfit = electrics((load, thin))
    (finding,) = (one for one in unfit.findings if one.code == "fuse-unfit")
    assert "the wire of davit, 0.5 mm2 (1.41 A)" in finding.what
    assert not [one for one in unfit.fuses if one.branch == "12 V"]


def test_what_counts_is_what_flows_there() -> None:
    """Of two that are never together the one behind the regulator draws more itself, and less of
    the battery."""
    bell = "    load: {supply: 6 V, draws: 0.8 A, length: 1 m}"
    davit = "    load: {supply: 12 V, draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m}"
    made = electrics(
        (bell, "    never with: davit\n" + bell.replace("0.8 A", "2 A")),
        (davit, davit.replace("1.5 A, stalls: 6 A, kind: motor", "1.8 A")),
    )
    twelve, six = made.branch("12 V"), made.branch("6 V")
    assert six is not None
    assert twelve is not None
    of_the_bell = 2 * 6 / (LOWEST_V * 0.9)  # 1.27 A
    without_it = (six.worst.value - 2) * 6 / (LOWEST_V * 0.9)
    assert of_the_bell < 1.8
    coil = 0.072 * 6 / (LOWEST_V * 0.9)  # the davit's own relay
    assert twelve.worst.value == pytest.approx(0.8 + 1.8 + without_it + coil)


def test_a_load_beyond_a_plug_that_is_switched_to_0_v() -> None:
    """Its plus comes from a strip beyond, its minus by a contact of its own."""
    made = electrics(
        (
            "load: {supply: 6 V, draws: 0.8 A, length: 1 m}",
            "load: {supply: house, draws: 0.8 A, length: 1 m}",
        ),
        (
            "board supply: 6 V",
            "  house: {from: 12 V, fuse: auto, length: 0.1 m}\nboard supply: 6 V",
        ),
        ("carries: [lamps, davit, arm, receiver]", "carries: [lamps, bell, house]"),
    )
    assert made.findings == ()
    (strip,) = (one.number for one in made.fuses if one.branch == "house")
    (own,) = (one.number for one in made.fuses if one.branch == "bell")
    assert wire(made, f"{strip} out", "plug 3")
    assert wire(made, "plug 3", "house +")
    assert wire(made, "house +", f"{own} in")
    assert wire(made, f"{own} out", "bell +")
    back = wire(made, "bell -", "plug 2")
    cable = wire(made, "plug 2", "gate 1 drain")
    assert back is not None
    assert cable is not None
    assert (back.length_m, cable.length_m) == (1.0, 0.6)
    assert wire(made, "gate 1 source", "12 V -")
    assert not [one for one in made.wires if one.from_.text == "house -"]
    (plug,) = made.connectors
    assert plug.returned.value == pytest.approx(0.8)  # the lamps alone
    assert [one.carries for one in plug.contacts[:3]] == ["lamps", "bell", "house"]


def test_a_driver_chip_hangs_on_its_supply() -> None:
    made = electrics(
        ("pin: D6, kind: transistor", "pin: D6, kind: transistor, driver: array"),
        ("contacts: 10 A", "contacts: 10 A, driver: array"),
        ("draws: 0.8 A", "draws: 0.3 A"),
        ("board supply: 6 V", "board supply: 6 V\ndrivers: {array: 6 V}"),
    )
    assert made.findings == ()
    assert wire(made, "6 V out +", "array COM")
    assert wire(made, "array GND", "6 V out -")
    assert wire(made, "nano D5", "array in 1")
    assert wire(made, "array out 1", "relay 1 coil -")
    assert wire(made, "nano D6", "array in 2")
    assert wire(made, "bell -", "array out 2")
    assert not [one for one in made.wires if one.from_.text == "gate 1 source"]


def test_contacts_that_are_named_stay_where_they_are() -> None:
    lists = electrics().connectors[0]
    named = electrics(
        (
            "carries: [lamps, davit, arm, receiver]",
            "carries: {receiver: 6, davit: [2, 3], lamps: 1, arm: [4, 5]}",
        )
    ).connectors[0]
    assert [one.carries for one in named.contacts] == [one.carries for one in lists.contacts]


def test_a_motor_without_a_fuse_of_its_own_is_stopped_by_the_one_before_it() -> None:
    davit = "load: {supply: 12 V, draws: 1.5 A, stalls: 6 A, kind: motor, length: 1 m}"
    winches = (
        "board supply: 6 V",
        "  winches: {from: 12 V, fuse: auto}\nboard supply: 6 V",
    )
    shared = davit.replace("12 V", "winches").replace("kind", "fuse: none, kind")
    made = electrics((davit, shared), winches)
    (fuse,) = (one for one in made.fuses if one.branch == "winches")
    assert fuse.blows_on_stall.startswith("davit held fast (6 A) it opens within")
    assert fuse.blows_on_stall.endswith("before the run limit of 6 s")
    assert not [one for one in made.fuses if one.branch == "davit"]
    # A motor that no limit stops and no fuse need stop is told of, whichever fuse that is.
    pump = "load: {supply: 6 V, draws: 0.8 A, length: 1 m}"
    on_the_strip = pump.replace("6 V", "winches").replace(
        "length", "stalls: 1 A, fuse: none, kind: motor, length"
    )
    toggled = ("pulse: key down\n    for: 0.5 s\n", "toggle: key down\n")
    told = electrics((pump, on_the_strip), (davit, shared), winches, toggled).findings
    assert "stall-unseen" in [one.code for one in told]
