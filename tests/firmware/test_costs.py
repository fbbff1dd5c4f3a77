"""What DEVELOPERS.md says that things cost is what the compiler makes of them now."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.behaviours import REGISTRY
from gen.load import load, load_text
from gen.render.wiring import SOFTWARE
from gen.resources import resource
from tests.benchmarks.cost_ships import Trio, ship_file
from tests.benchmarks.cost_trios import BASE, BEHAVIOURS
from tests.benchmarks.costs import (
    COMMAND,
    GROUPS,
    PAGE,
    Size,
    differences,
    size,
    size_of,
    table,
    with_table,
    written,
)

if TYPE_CHECKING:
    from gen.plan import Plan

pytestmark = pytest.mark.firmware

TRIOS = {trio.what: trio for _, trios in GROUPS for trio in trios}


def plans(trio: Trio) -> list[Plan]:
    return [load_text(ship.encode()).plan for ship in trio.ships]


def test_each_row_is_told_once() -> None:
    assert len(TRIOS) == sum(len(trios) for _, trios in GROUPS)


def test_every_behaviour_has_a_row() -> None:
    assert {trio.what for trio in BEHAVIOURS} == set(REGISTRY), "add it to cost_trios.BEHAVIOURS"


@pytest.mark.parametrize("trio", BEHAVIOURS, ids=lambda trio: trio.what)
def test_the_ships_of_a_behaviour_have_none_one_and_two(trio: Trio) -> None:
    counts = [sum(f.key == trio.what for f in plan.functions) for plan in plans(trio)]
    assert counts == [0, 1, 2]


@pytest.mark.parametrize("trio", TRIOS.values(), ids=TRIOS)
def test_the_ships_of_a_row_differ_and_have_no_warnings(trio: Trio) -> None:
    assert len(set(trio.ships)) == 3
    assert [load_text(ship.encode()).problems for ship in trio.ships] == [[], [], []]


def test_servos_and_lights_are_made_as_the_rows_say() -> None:
    for what, software in (("follow", 0), ("servo by the processor", 2)):
        plan = plans(TRIOS[what])[-1]
        assert sum(servo.unit == SOFTWARE for servo in plan.servos) == software
    for what, software in (("dimmer", 0), ("dimmer by the processor", 2)):
        plan = plans(TRIOS[what])[-1]
        assert sum(light.unit == SOFTWARE for light in plan.lights) == software


def test_writing_the_table_leaves_the_rest_of_the_page_alone() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert with_table(page, written(page)) == page
    emptied = with_table(page, "")
    assert len(emptied) == len(page) - len(written(page))
    assert with_table(emptied, "new\n") == with_table(page, "new\n")
    assert written(with_table(page, "new\n")) == "new\n"


def test_a_stale_table_is_told_with_its_remedy() -> None:
    page = PAGE.read_text(encoding="utf-8")
    made = written(page)
    assert differences(page, made) == ""
    row = next(line for line in made.splitlines() if line.startswith("| `toggle` |"))
    told = differences(page.replace(row, "| `toggle` | 0 |"), made)
    assert told.splitlines() == [
        "DEVELOPERS.md is not what is measured:",
        "- | `toggle` | 0 |",
        f"+ {row}",
        f"run {COMMAND}",
    ]
    assert differences(page, "\n".join(reversed(made.splitlines()))).splitlines()[1:] == [
        "  the same rows in another order",
        f"run {COMMAND}",
    ]


@pytest.mark.slow
def test_the_table_is_fresh() -> None:
    told = differences(PAGE.read_text(encoding="utf-8"), table())
    assert not told, told


def test_the_rows_of_a_ship_add_up_to_it() -> None:
    """The launch, within 3 %: what it has besides the base, which has one momentary too many."""
    rows = [line.split(" | ") for line in written(PAGE.read_text(encoding="utf-8")).splitlines()]
    cells = {
        row[0].strip("|` "): [int(cell.strip(" |")) for cell in row[2:]]
        for row in rows
        if row[0].startswith("| `")
    }
    first = {what: Size(numbers[0], numbers[2]) for what, numbers in cells.items()}
    further = {what: Size(numbers[1], numbers[3]) for what, numbers in cells.items()}
    base = size(ship_file(BASE)) - further["momentary"]
    added = [first[what] for what in ("channel", "follow", "toggle", "pulse", "winch")]
    added += [base, further["channel"]]
    launch = size_of(load(resource("templates") / "ships" / "launch.yaml"))
    assert sum(one.flash_bytes for one in added) == pytest.approx(launch.flash_bytes, rel=0.03)
    assert sum(one.ram_bytes for one in added) == pytest.approx(launch.ram_bytes, rel=0.03)
