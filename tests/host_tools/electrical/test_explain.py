from __future__ import annotations

from dataclasses import dataclass

from host_tools.electrical.explain import explained, figures_in, known
from host_tools.electrical.figure import Figure, Given
from host_tools.electrical.wire import drop, resistance

SIZE = Given("0.5 mm2", 0.5, "mm2", "skerry.yaml:60")
LENGTH = Given("length", 1.2, "m", "skerry.yaml:31")
WARM = Given("temperature", 40.0, "C", "skerry.yaml:62")
DRAWS = Given("draws", 0.8, "A", "skerry.yaml:31")


@dataclass(frozen=True)
class Row:
    name: str
    figures: tuple[Figure, ...]
    one: Figure | None


OHM = resistance("deck lights", SIZE, LENGTH, WARM)
LOST = drop("deck lights", DRAWS, OHM)
OTHER = drop("davit", DRAWS, OHM)
ROWS = [Row("first", (LOST, OTHER), None), Row("second", (), OHM)]


def test_figures_are_found_wherever_a_record_holds_them() -> None:
    assert list(figures_in(ROWS)) == [LOST, OTHER, OHM]
    assert known(ROWS) == ("davit", "deck lights")


def test_a_number_is_followed_down_to_the_ship_file_and_the_standard() -> None:
    assert explained(ROWS, "davit") == (
        "davit: voltage drop there and back = 80.8 mV",
        "  U = 2 * I * R   [Ohm's law; ISO 10133, annex, with 1/58 in place of its 0.0164, which is"
        " 5 % too low]",
        "    draws = 800 mA   [skerry.yaml:31]",
        "    deck lights: resistance one way = 50.5 mohm",
        "      R = rho * f * L / S * (1 + alpha * (t - 20))   [IEC 60028; IEC 60228]",
        "        rho = 0.0172414 ohm mm2/m   [IEC 60028: copper at 20 C]",
        "        f = 1.131   [IEC 60228, class 5 (the most at 20 C)]",
        "        length = 1.2 m   [skerry.yaml:31]",
        "        0.5 mm2 = 0.5 mm2   [skerry.yaml:60]",
        "        alpha = 0.00393 1/K   [IEC 60028: copper at 20 C]",
        "        temperature = 40 C   [skerry.yaml:62]",
    )


def test_nothing_is_explained_twice() -> None:
    lines = explained(ROWS, "deck lights")
    assert sum("resistance one way" in line for line in lines) == 1
    both = explained([LOST, drop("deck lights", DRAWS, LOST.given[1])], "deck lights")
    assert both == explained([LOST], "deck lights")


def test_a_name_that_nobody_has_explains_nothing() -> None:
    assert explained(ROWS, "anchor") == ()
