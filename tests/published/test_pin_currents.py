"""Pin currents of the three chips, held against their datasheets.

Atmel-8271H (ATmega48A/PA/88A/PA/168A/PA/328/P), Electrical Characteristics, p. 301, notes on the
port groups; Atmel-2549 (ATmega640/1280/1281/2560/2561), p. 371; Atmel-7766F (ATmega16U4/32U4),
p. 379. The groups of the ATmega2560 are the same for both directions. The ATmega32U4's sheet prints
the groups of a larger chip: which of them C6 and C7 belong to is from memory.
"""

from __future__ import annotations

import pytest

from gen.boards import load_board
from tests.gen.small import problems

SINK_MA = {
    "nano": [("C0-5", 100), ("B0-5 D5-7", 100), ("D0-4", 100)],
    "mega": [
        ("J0-7 A0-7 G2", 200),
        ("C0-7 G0-1 D0-7 L0-7", 200),
        ("G3-4 B0-7 H0-7", 200),
        ("E0-7 G5", 100),
        ("F0-7 K0-7", 100),
    ],
    "micro": [("C4-7", 100), ("D0-7", 100), ("B0-7 E0-7", 100), ("F0-7", 100)],
}
SOURCE_MA = {
    "nano": [("C0-5 D0-4", 150), ("B0-5 D5-7", 150)],
    "mega": SINK_MA["mega"],
    "micro": SINK_MA["micro"],
}


def places(text: str) -> frozenset[str]:
    found = set()
    for part in text.split():
        first, _, last = part[1:].partition("-")
        found |= {f"{part[0]}{bit}" for bit in range(int(first), int(last or first) + 1)}
    return frozenset(found)


@pytest.mark.parametrize("name", ["nano", "mega", "micro"])
def test_groups_are_those_of_the_datasheet(name: str) -> None:
    limits = load_board(name).limits
    for groups, published in ((limits.sink, SINK_MA[name]), (limits.source, SOURCE_MA[name])):
        assert [(group.places, group.most_ma) for group in groups] == [
            (places(text), most_ma) for text, most_ma in published
        ]


@pytest.mark.parametrize(
    ("name", "absolute", "guaranteed"), [("nano", 40, 20), ("mega", 40, 20), ("micro", 40, 10)]
)
def test_single_pins_and_the_supply_pins(name: str, absolute: int, guaranteed: int) -> None:
    limits = load_board(name).limits
    assert (limits.pin_absolute_ma, limits.pin_guaranteed_ma) == (absolute, guaranteed)
    assert limits.chip_ma == 200


def test_the_groups_of_the_328p_allow_more_than_its_supply_pins() -> None:
    """The trap of that table: 3 x 100 mA of sinking groups against 200 mA, so both are checked."""
    limits = load_board("nano").limits
    assert sum(group.most_ma for group in limits.sink) > limits.chip_ma


@pytest.mark.parametrize(
    ("draws", "code"),
    [("20 mA", ""), ("20.1 mA", "pin-current-high"), ("40 mA", "pin-current-high")],
)
def test_up_to_the_absolute_maximum_a_pin_only_warns(draws: str, code: str) -> None:
    found = problems(("pin: D5", f"pin: D5, draws: {draws}"))
    assert [(problem.code, str(problem.severity)) for problem in found] == (
        [(code, "warning")] if code else []
    )


def test_beyond_it_is_an_error_that_cites_the_datasheet() -> None:
    (problem,) = problems(("pin: D5", "pin: D5, draws: 40.1 mA"))
    assert (problem.code, str(problem.severity)) == ("pin-current", "error")
    assert problem.hint.startswith("Atmel-8271H (ATmega328P), Electrical Characteristics, p. 301")


def lamps(pins: list[str], active: str, draws: str) -> list[str]:
    """The codes that so many relays earn."""
    outputs = "\n".join(
        f"  relay {pin}: {{pin: {pin}, active: {active}, draws: {draws}}}" for pin in pins
    )
    functions = "\n".join(
        f"  lamp {pin}: {{momentary: key up, drives: relay {pin}}}" for pin in pins
    )
    found = problems(
        ("relay: {pin: D5}", "relay: {pin: D4, draws: 1 mA}"),
        ("winch motor: {lower: D6, raise: D7}", "winch motor: {lower: A4, raise: A5, draws: 1 mA}"),
        ("functions:", f"functions:\n{functions}"),
        ("outputs:", f"outputs:\n{outputs}"),
    )
    return [problem.code for problem in found]


PORT_B = ["D8", "D10", "D11", "D12", "D13"]


def test_a_sinking_group_of_100_ma() -> None:
    assert lamps(PORT_B, "low", "20 mA") == []
    assert lamps([*PORT_B, "D6"], "low", "16.6 mA") == []
    assert lamps([*PORT_B, "D6"], "low", "16.7 mA") == ["group-current"]


def test_a_sourcing_group_of_150_ma() -> None:
    """Seven pins and the servo's signal of 1 mA: 7 x 20 + 1 = 141 mA."""
    assert lamps([*PORT_B, "D6", "D7"], "high", "20 mA") == []
    assert lamps([*PORT_B, "D6", "D7", "D5"], "high", "18.6 mA") == []
    assert lamps([*PORT_B, "D6", "D7", "D5"], "high", "18.7 mA") == ["group-current"]


def test_the_chip_of_200_ma() -> None:
    others = ["A0", "A1", "A2", "A3"]
    assert lamps([*PORT_B, "D6", *others], "low", "16.6 mA") == []
    assert lamps([*PORT_B, *others, "D1"], "low", "20 mA") == ["pin-reserved"]
    assert lamps([*PORT_B, *others, "D6", "D7"], "low", "14.2 mA") == []
    twelve = [*PORT_B, "D6", *others]
    assert lamps(twelve, "high", "19 mA") == []
    thirteen = [*PORT_B, "D6", "D7", *others]
    assert lamps(thirteen, "high", "18.1 mA") == ["chip-current"]
