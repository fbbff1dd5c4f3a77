from __future__ import annotations

import pytest

from gen.codes import CODES
from gen.resolve.outputs import with_lines_of_registers
from host_tools.electrical.consumers import feeds_of
from host_tools.electrical.electrics import Part
from host_tools.electrical.explain import explained
from host_tools.electrical.figure import Given
from host_tools.electrical.found import Found, alike
from host_tools.electrical.reachable import Allowed
from host_tools.electrical.small_parts import small_parts
from host_tools.electrical.tree import Tree
from tests.gen.small import small

BATTERY = "battery: {voltage: 12 V, capacity: 7 Ah, chemistry: lead-acid}"
LAMP = "lamp: {pulse: key up, for: 2 s, drives: relay"


def parts_of(
    *changes: tuple[str, str], supplies: str = BATTERY, more: str = "", ambient_c: float = 40
) -> Found:
    sections = f"supplies:\n  {supplies}\n{more}functions:"
    loaded = small(*changes, ("functions:", sections))
    ship = with_lines_of_registers(loaded.ship)
    feeds = feeds_of(ship, loaded.plan, [])
    found = small_parts(
        ship,
        loaded.plan,
        feeds=feeds,
        tree=Tree(ship, feeds, loaded.plan.source),
        allowed=Allowed(loaded.plan),
        ambient_c=Given("temperature", ambient_c, "C", "test"),
    )
    assert all(CODES[one.code].about == "power" for one in found.findings)
    return found


def lamp(load: str, relay: str = "{pin: D5}", *, supplies: str = BATTERY, more: str = "") -> Found:
    """The small ship with this load behind its relay."""
    changes = (f"{LAMP}}}", f"{LAMP}, load: {load}}}"), ("{pin: D5}", relay)
    return parts_of(*changes, supplies=supplies, more=more)


def davit(load: str, pair: str = "{lower: D6, raise: D7}") -> Found:
    return parts_of(
        ("    drives: winch motor", f"    drives: winch motor\n    load: {load}"),
        ("{lower: D6, raise: D7}", pair),
    )


def codes(found: Found) -> list[tuple[str, bool]]:
    return [(one.code, one.is_error) for one in found.findings]


def listed(found: Found) -> list[tuple[str, int, str]]:
    return [(part.what, part.quantity, part.spec) for part in found.parts]


LEDS = "{supply: battery, leds: {in a row: ROW, each: 3.2 V, current: 20 mA, strings: 2}}"


def test_leds_are_reckoned_at_a_full_battery() -> None:
    """14.4 V - 3 * 3.2 V = 4.8 V: 240 ohm at 20 mA, so 270 ohm; 85 mW, so 0.25 W."""
    found = lamp(LEDS.replace("ROW", "3"))
    assert listed(found) == [("LED", 6, "3.2 V, 20 mA"), ("resistor", 2, "270 ohm, 0.25 W")]
    assert found.findings == ()
    lines = explained(found.figures, "lamp")
    assert any("valve-regulated lead-acid: 14.4 V" in line for line in lines)


def test_leds_behind_a_regulator_are_reckoned_at_its_voltage() -> None:
    """5 V - 3.2 V = 1.8 V: 90 ohm at 20 mA, so 100 ohm."""
    fed = f"{BATTERY}\n  5 V: {{from: battery, voltage: 5 V, rating: 1 A}}"
    load = LEDS.replace("ROW", "1").replace("supply: battery", "supply: 5 V")
    assert listed(lamp(load, supplies=fed))[1] == ("resistor", 2, "100 ohm, 0.125 W")


def test_leds_that_stay_dark_and_that_go_dim() -> None:
    found = lamp(LEDS.replace("ROW", "4"))
    assert codes(found) == [("leds-dark", True)]
    assert found.parts == ()
    dim = lamp(LEDS.replace("ROW", "5").replace("3.2 V", "2.2 V"))
    assert codes(dim) == [("leds-unsteady", False)]
    assert (dim.findings[0].got, dim.findings[0].expected) == ("1 V", "at least 1.2 V")


def test_a_lamp_behind_a_relay_needs_nothing() -> None:
    assert lamp("{supply: battery, draws: 0.8 A, kind: lamp}") == Found()


def test_a_motor_behind_a_relay_gets_a_diode() -> None:
    found = lamp("{supply: battery, draws: 0.8 A, stalls: 2.5 A, kind: motor}")
    (part,) = found.parts
    assert (part.what, part.spec) == ("diode", "1N5404 (at least 144 V, 2.5 A)")
    assert part.for_ == ("lamp, cathode to plus",)


def test_a_small_lamp_on_a_transistor() -> None:
    """30 mA need 3 mA of base, within the pin's 5 mA: 4.2 V / 3 mA = 1.4 kohm, so 1.5 kohm."""
    found = lamp("{supply: battery, draws: 30 mA, kind: lamp}", "{pin: D5, kind: transistor}")
    assert listed(found) == [
        ("NPN transistor", 1, "30 V, 100 mA or more"),
        ("resistor", 1, "1.5 kohm, 0.125 W"),
    ]


def test_a_pump_on_a_transistor() -> None:
    found = lamp(
        "{supply: battery, draws: 1.5 A, stalls: 4 A, kind: motor}", "{pin: D5, kind: transistor}"
    )
    assert listed(found) == [
        ("N-channel logic-level MOSFET", 1, "30 V, 5 A or more"),
        ("resistor", 1, "1 kohm, 0.125 W"),
        ("resistor", 1, "10 kohm, 0.125 W"),
        ("diode", 1, "6A4 (at least 144 V, 4 A)"),
    ]


def test_a_motor_that_runs_both_ways_gets_snubbers_and_no_diode() -> None:
    found = davit("{supply: battery, draws: 1.5 A, stalls: 6 A, kind: motor}")
    assert listed(found) == [
        ("resistor", 2, "8.2 ohm, 0.5 W"),
        ("capacitor", 2, "1 uF, 200 V, not polarised"),
    ]
    assert found.parts[0].for_ == (
        "winch motor lower, across its contact",
        "winch motor raise, across its contact",
    )


def test_or_a_bridge_where_its_pair_are_transistors() -> None:
    found = davit(
        "{supply: battery, draws: 1.5 A, stalls: 6 A, kind: motor}",
        "{lower: D6, raise: D7, kind: transistor}",
    )
    assert listed(found) == [("motor bridge", 1, "more than 14.4 V, 6 A")]


ARRAY = "drivers: {array 1: battery}\n"
ON_ARRAY = "{pin: D5, kind: transistor, driver: array 1}"


def test_a_driver_array_has_its_diodes_built_in() -> None:
    found = lamp("{supply: battery, draws: 0.2 A, kind: solenoid}", ON_ARRAY, more=ARRAY)
    assert [part.what for part in found.parts] == ["driver array"]
    assert found.findings == ()
    (junction,) = [one for one in found.figures if one.unit == "C"]
    assert junction.value == pytest.approx(40 + 55 * 0.2 * 1.3)


def test_an_output_of_the_array_that_carries_too_much() -> None:
    found = lamp("{supply: battery, draws: 0.6 A, kind: lamp}", ON_ARRAY, more=ARRAY)
    assert codes(found) == [("driver-output", True)]
    assert found.findings[0].place.line == 9


def test_a_motor_held_fast_counts_for_its_output_and_not_for_the_heat() -> None:
    load = "{supply: battery, draws: 0.2 A, stalls: 0.7 A, kind: motor}"
    found = lamp(load, ON_ARRAY, more=ARRAY)
    assert codes(found) == [("driver-output", True)]
    (junction,) = [one for one in found.figures if one.unit == "C"]
    assert junction.value == pytest.approx(40 + 55 * 0.2 * 1.3)


def test_the_arrays_common_pin_on_a_lower_supply_keeps_things_on() -> None:
    fed = f"{BATTERY}\n  6 V: {{from: battery, voltage: 6 V, rating: 1 A}}"
    low = "drivers: {array 1: 6 V}\n"
    found = lamp("{supply: battery, draws: 0.2 A, kind: lamp}", ON_ARRAY, supplies=fed, more=low)
    assert codes(found) == [("clamp-supply", True)]
    assert "stays on" in found.findings[0].what
    strips = f"{BATTERY}\n  strip: {{from: battery}}"
    other = lamp(
        "{supply: strip, draws: 0.2 A, kind: solenoid}", ON_ARRAY, supplies=strips, more=ARRAY
    )
    assert codes(other) == [("clamp-supply", False)]
    resistive = lamp(
        "{supply: strip, draws: 0.2 A, kind: lamp}", ON_ARRAY, supplies=strips, more=ARRAY
    )
    assert resistive.findings == ()


DRAWS = "load: {supply: battery, draws: 400 mA}"
FOUR = "".join(
    f"  lamp {n}: {{momentary: key up, drives: line {n}, {DRAWS}}}\n" for n in range(1, 5)
)
ONE_OF_THEM = "groups: {lamps: {never together: [lamp 1, lamp 2, lamp 3, lamp 4]}}\n"


@pytest.mark.parametrize(("together", "expected"), [(True, [("driver-hot", True)]), (False, [])])
def test_the_heat_of_what_may_be_on_at_once(
    together: bool, expected: list[tuple[str, bool]]
) -> None:
    """Four outputs of 400 mA lose 1.7 V each: 2.72 W, which are 150 K; one alone 37 K."""
    pins = ("D8", "D10", "D11", "D12")
    outputs = "".join(
        f"  line {n}: {{pin: {pin}, kind: transistor, driver: array 1}}\n"
        for n, pin in enumerate(pins, 1)
    )
    found = parts_of(
        ("  lamp: {pulse", f"{FOUR}  lamp: {{pulse"),
        ("  relay: {pin: D5}\n", f"  relay: {{pin: D5}}\n{outputs}"),
        more=ARRAY if together else ARRAY + ONE_OF_THEM,
    )
    assert codes(found) == expected
    (junction,) = [one for one in found.figures if one.unit == "C"]
    assert junction.value == pytest.approx(40 + 55 * 0.4 * 1.7 * (4 if together else 1))


SHELF = (
    "shelf: {kind: shift register, data: D11, clock: D13, latch: D10, outputs: 8, driver: array 1,"
    " coil: {supply: battery, draws: 30 mA}}"
)


def test_coils_behind_a_shift_register_and_an_array() -> None:
    """Two coils of 30 mA lose 1.1 V each; what is on their contacts is not the array's business."""
    load = "{supply: battery, draws: 2 A, kind: motor}"
    found = parts_of(
        (f"{LAMP}}}", f"lamp: {{pulse: key up, for: 2 s, drives: shelf 1, load: {load}}}"),
        ("  arm:", "  horn: {momentary: key up, drives: shelf 2}\n  arm:"),
        ("  relay: {pin: D5}", f"  {SHELF}"),
        more=ARRAY,
    )
    assert codes(found) == []
    assert [part.what for part in found.parts] == ["diode", "driver array"]
    (junction,) = [one for one in found.figures if one.unit == "C"]
    assert junction.value == pytest.approx(40 + 55 * 2 * 0.03 * 1.1)


def sensed(divider: str) -> Found:
    return parts_of(supplies=BATTERY.replace("}", f", sensed on: A0{divider}}}"))


def test_a_battery_that_is_sensed_rightly() -> None:
    found = sensed(", divider: 22k/10k")
    assert found.findings == ()
    assert listed(found) == [
        ("resistor", 1, "22 kohm, 0.125 W, 1 %"),
        ("resistor", 1, "10 kohm, 0.125 W, 1 %"),
    ]


def test_a_divider_that_is_too_weak_for_a_full_battery() -> None:
    """14.4 V * 10 / 28 = 5.14 V is more than can be measured; 15k/10k, 5.76 V, kills the pin."""
    warned = sensed(", divider: 18k/10k")
    assert codes(warned) == [("sense-high", False)]
    assert warned.findings[0].expected == "at most 5 V: divider 22k/10k"
    assert codes(sensed(", divider: 15k/10k")) == [("sense-high", True)]
    assert codes(sensed("")) == [("sense-high", True)]


def test_the_same_part_is_one_row_of_the_list() -> None:
    one, leds = Part("diode", 1, "1N4004", ("a",)), Part("LED", 2, "red", ("b",))
    rows = alike([one, leds, Part("diode", 2, "1N4004", ("c", "a"))])
    assert rows == (Part("diode", 3, "1N4004", ("a", "c")), Part("LED", 2, "red", ("b",)))
