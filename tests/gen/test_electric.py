"""The keys of loads, supplies, wires and connectors, as far as nothing is summed from them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from gen.diagnostics import Problems
from gen.electric import supply_mv
from gen.load import load_text
from gen.read.kinds import Number, Temperature, Wire, WireSize
from gen.resolve.harness import contacts_of, leads_of
from gen.units import Wrong
from tests.gen.small import SMALL

POWER = """
outputs:
  relay 1: {pin: D5, active: low, coil: {supply: 6 V}, contacts: 10 A}
  gate 1: {pin: D6, kind: transistor, driver: array}
  gate 2: {pin: D7, kind: transistor, driver: array}
  pair: {lower: D8, raise: D10, coil: {supply: 6 V, draws: 72 mA}}
  servo: {pin: D9, kind: servo, power: {supply: 6 V, draws: 0.2 A, stalls: 1.2 A}}
functions:
  work lights:
    toggle: key up
    drives: relay 1
    loads:
      fore lamp: {supply: 12 V, draws: 0.5 A, hand switch: yes}
      aft lamp: {supply: 12 V, leds: {in a row: 3, each: 3.2 V, current: 20 mA}}
  mast lights:
    step: key down
    states: {off: nothing, one: gate 1, two: [gate 1, gate 2]}
  davit:
    winch: {lower: winch key down, raise: winch key up}
    limit: {lower: 8 s, raise: 9 s}
    drives: pair
    drum:
      {diameter: 8 mm, width: 15 mm, flange: 20 mm, line: 0.8 mm, length: 1.2 m,
       motor: 6000 rpm, gearbox: "200:1"}
  arm: {follow: knob, drives: servo}
supplies:
  battery: {voltage: 12 V, capacity: 7 Ah, at: 20 h, resistance: 30 mOhm, length: 0.4 m}
  12 V: {from: battery, fuse: auto, wire: AWG 18, length: 50 cm}
  6 V: {from: 12 V, voltage: 6 V, kind: switching, rating: 5 A}
board supply: 6 V
drivers: {array: 12 V}
wires: {have: [0.25 mm2, AWG 18], temperature: -5 C}
"""
HEAD = """
ship: Gannet
board: nano
receiver: {channels: {keys: D2, more keys: D4, knobs: D3}}
controls:
  key: keys
  winch key: more keys
  knob: {from: knobs, kind: knob}
"""


def test_what_is_left_out_is_what_a_careful_person_takes() -> None:
    loaded = load_text((HEAD + POWER).encode())
    assert loaded.problems == []
    lights = loaded.ship.functions.items["work lights"]
    assert lights.loads is not None
    fore, aft = lights.loads
    assert fore.hand_switch.value
    assert not aft.hand_switch.value
    assert aft.wire.value is None
    assert aft.leds is not None
    assert aft.leds.strings.value == 1
    assert loaded.ship.board_draws.value == 60
    assert loaded.ship.wires is not None
    assert loaded.ship.wires.temperature.value == -5
    assert loaded.ship.wires.ampacity.value == "bundle"


def test_nothing_of_it_is_in_the_plan() -> None:
    bare = (
        HEAD
        + """
outputs:
  relay 1: {pin: D5, active: low}
  gate 1: {pin: D6, kind: transistor}
  gate 2: {pin: D7, kind: transistor}
  pair: {lower: D8, raise: D10}
  servo: {pin: D9, kind: servo}
functions:
  work lights: {toggle: key up, drives: relay 1}
  mast lights: {step: key down, states: {off: nothing, one: gate 1, two: [gate 1, gate 2]}}
  davit:
    winch: {lower: winch key down, raise: winch key up}
    limit: {lower: 8 s, raise: 9 s}
    drives: pair
  arm: {follow: knob, drives: servo}
"""
    )
    plan = load_text(bare.encode()).plan
    assert load_text((HEAD + POWER).encode()).plan.plan_id == plan.plan_id


def test_a_supply_has_the_voltage_of_what_feeds_it() -> None:
    supplies = load_text((HEAD + POWER).encode()).ship.supplies
    assert supply_mv("12 V", supplies) == 12_000
    assert supply_mv("6 V", supplies) == 6_000
    assert supply_mv("5 V", supplies) is None


def test_what_is_carried_takes_as_many_contacts_as_it_has_leads() -> None:
    ship = load_text((HEAD + POWER).encode()).ship
    assert [lead.text for lead in leads_of("work lights", ship)] == ["work lights"]
    assert [lead.text for lead in leads_of("mast lights", ship)] == [
        "mast lights gate 1",
        "mast lights gate 2",
    ]
    davit = leads_of("davit", ship)
    assert [lead.text for lead in davit] == ["davit lower", "davit raise"]
    assert not any(lead.returned for lead in davit)
    power, signal = leads_of("arm", ship)
    assert power.returned
    assert signal.is_signal
    assert not signal.returned


LISTED = "harness: {plug: {contacts: 9, rating: 3 A, carries: [work lights, spare, davit%s]}}"


def test_a_function_that_is_added_moves_no_other() -> None:
    before, after = (
        load_text((HEAD + POWER + LISTED % more).encode()).ship for more in ("", ", arm")
    )
    made = []
    for one in (before, after):
        assert one.harness is not None
        (plug,) = one.harness
        made.append(contacts_of(plug, one, Problems("x")))
    assert made[0].leads.items() < made[1].leads.items()
    assert {number: lead.text for number, lead in made[1].leads.items()} == {
        1: "work lights",
        3: "davit lower",
        4: "davit raise",
        5: "arm power",
        6: "arm signal",
    }
    assert made[1].kept == (2,)
    assert made[1].free == (7, 8, 9)


def test_a_map_names_contacts() -> None:
    carries = "{davit: [7, 2], arm: [4, 5], spare: [1, 3]}"
    text = f"harness: {{plug: {{contacts: 9, rating: 3 A, carries: {carries}}}}}"
    one = load_text((HEAD + POWER + text).encode()).ship
    assert one.harness is not None
    (plug,) = one.harness
    made = contacts_of(plug, one, Problems("x"))
    assert {number: lead.text for number, lead in made.leads.items()} == {
        7: "davit lower",
        2: "davit raise",
        4: "arm power",
        5: "arm signal",
    }
    assert made.kept == (1, 3)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("0.25 mm2", WireSize(mm2=Decimal("0.25"))),
        ("1.5 mm²", WireSize(mm2=Decimal("1.5"))),
        ("AWG 18", WireSize(awg=18)),
        ("awg18", WireSize(awg=18)),
        ("22 AWG", WireSize(awg=22)),
    ],
)
def test_wires_are_written_as_they_are_sold(text: str, size: WireSize) -> None:
    assert Wire().parse(text) == size


@pytest.mark.parametrize("text", ["18", "AWG", "AWG 1.5", "AWG 41", "0 mm2", "60 mm2", "AWG -2"])
def test_what_is_no_wire(text: str) -> None:
    with pytest.raises(Wrong):
        Wire().parse(text)


def test_temperatures_and_numbers() -> None:
    assert Temperature().parse("-10 C") == -10
    assert Temperature().parse("40 °C") == 40
    with pytest.raises(Wrong):
        Temperature().parse("95 C")
    ratio = Number("0.1", "1000", "a ratio", ending=":1")
    assert ratio.parse("200:1") == ratio.parse("200") == 200
    with pytest.raises(Wrong):
        ratio.parse("1:200")


def test_a_ship_without_any_of_it_still_loads() -> None:
    ship = load_text(SMALL.encode()).ship
    assert ship.wires is None
    assert ship.harness is None
    assert ship.board_supply is None


def test_what_is_switched_to_0_v_has_its_supply_beyond_the_connector() -> None:
    lamp = (
        "outputs: {gate: {pin: D5, kind: transistor}}\n"
        "functions: {lamp: {toggle: key up, drives: gate, load: {supply: 12 V, draws: 1 A}}}\n"
        "supplies: {battery: {voltage: 12 V}, 12 V: {from: battery}}\n"
        "always on: {receiver: {supply: 12 V, draws: 60 mA}}\n"
        "harness: {plug: {contacts: 9, rating: 3 A, carries: [receiver, lamp, 12 V]}}\n"
    )
    head = "ship: Gannet\nboard: nano\nreceiver: {channels: {keys: D2}}\ncontrols: {key: keys}\n"
    ship = load_text((head + lamp).encode()).ship
    (receiver,), (low,), (supply,) = (leads_of(n, ship) for n in ("receiver", "lamp", "12 V"))
    assert receiver.returned
    assert not low.returned
    assert low.fed_by == ("12 V",)
    assert supply.returned
