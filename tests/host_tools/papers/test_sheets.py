"""Every sheet says all that it is for, of every starter."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.boards import board_names, load_board
from gen.read.steps import Expect
from host_tools.papers.sheet import Cautions, Figures
from host_tools.papers.sheets import SHEETS, all_sheets
from host_tools.papers.sheets.cover import ABOUT, cover
from host_tools.papers.sheets.pins import pin_uses
from host_tools.papers.table import Table
from tests.host_tools.papers.nasty import STARTERS, changed, facts_of, nasty

if TYPE_CHECKING:
    from pathlib import Path

    from host_tools.papers.facts import Facts
    from host_tools.papers.sheet import Sheet

SHIPS = [*sorted(path.stem for path in STARTERS.glob("*.yaml")), "nasty"]


@pytest.fixture(scope="module", params=SHIPS)
def facts(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Facts:
    if request.param == "nasty":
        return facts_of(nasty(tmp_path_factory.mktemp("nasty")))
    return facts_of(STARTERS / f"{request.param}.yaml")


@pytest.fixture(scope="module")
def sheets(facts: Facts) -> dict[str, Sheet]:
    return {sheet.name: sheet for sheet in all_sheets(facts)}


def table(sheets: dict[str, Sheet], name: str) -> Table:
    every = [one for sheet in sheets.values() for one in sheet.blocks if isinstance(one, Table)]
    return next(one for one in every if one.name == name)


def drawings(sheet: Sheet) -> str:
    drawn = [one for one in sheet.blocks if isinstance(one, Figures)]
    return "".join(figure.svg for one in drawn for figure in one.figures)


def told(one: Table) -> str:
    return "\n".join("\n".join(row.cells) for row in one.rows)


def test_all_sheets_are_there_and_the_cover_names_them(
    facts: Facts, sheets: dict[str, Sheet]
) -> None:
    unsupplied = {"supplies", "fuses"} if facts.ship.supplies is None else set()
    assert sheets.keys() | unsupplied == ABOUT.keys()
    assert len(SHEETS) == len(ABOUT)
    register = table({"cover": cover(facts, list(sheets.values()), "")}, "register")
    assert [row.key for row in register.rows] == list(sheets)


def test_the_card_has_every_answer_of_every_function(
    facts: Facts, sheets: dict[str, Sheet]
) -> None:
    card = table(sheets, "control-card")
    for function in facts.functions:
        for answer in function.answers:
            control = facts.plan.controls[answer.control]
            word = "turned"
            if answer.position is not None:
                word = control.positions[answer.position].name
            row = next(row for row in card.rows if row.key == f"{control.name}/{word}")
            assert row.cells[0].startswith(f"{control.name}\n")
            assert f"{function.name}: {answer.does}" in row.cells[3].split("\n")
            assert row.mark.startswith("<svg")


def test_the_card_has_every_control_and_every_loss(facts: Facts, sheets: dict[str, Sheet]) -> None:
    card = table(sheets, "control-card")
    assert {row.key.rpartition("/")[0] for row in card.rows} == {c.name for _, c in facts.controls}
    lost = told(table(sheets, "on-loss"))
    assert all(function.name in lost for function in facts.functions)


def test_the_caps_colour_is_on_the_card(facts: Facts, sheets: dict[str, Sheet]) -> None:
    for item in facts.ship.controls:
        if item.colour is not None:
            rows = [r for r in table(sheets, "control-card").rows if item.name.value in r.cells[0]]
            assert item.colour.value in rows[0].cells[0].split("\n")


def test_one_line_a_function(facts: Facts, sheets: dict[str, Sheet]) -> None:
    rows = table(sheets, "functions").rows
    assert [row.key for row in rows] == [function.name for function in facts.functions]
    for row, function in zip(rows, facts.functions, strict=True):
        assert function.key in row.cells[2]
        assert function.loss_in_words in row.cells
        lines = [facts.plan.lines[index].name for index in function.lines]
        assert all(name in row.cells[4] for name in lines)


def test_every_pin_in_use_is_on_the_board(facts: Facts, sheets: dict[str, Sheet]) -> None:
    plan = facts.plan
    used = {one.pin for one in (*plan.inputs, *plan.sensors, *plan.servos, *plan.lights)}
    used |= {line.pin for line in plan.lines if line.shifted is None}
    used |= {pin for register in plan.registers for pin in register.pins}
    assert used <= pin_uses(plan).keys()
    assert {row.key for row in table(sheets, "pins").rows} == pin_uses(plan).keys()
    drawn = drawings(sheets["pins"])
    assert all(f">{pin}</text>" in drawn for pin in used)


@pytest.mark.parametrize("name", board_names())
def test_every_pin_of_a_board_is_on_one_header(name: str) -> None:
    board = load_board(name)
    printed = [pin for header in board.headers for pin in header.pins if pin in board.pins]
    assert sorted(printed) == sorted(board.pins)
    others = {pin for header in board.headers for pin in header.pins} - board.pins.keys()
    assert others <= {"NC", "IOREF", "RESET", "3V3", "5V", "GND", "VIN", "AREF", "SS"}
    assert {"5V", "GND", "VIN"} <= others


def test_every_output_has_a_circuit_and_terminals(facts: Facts, sheets: dict[str, Sheet]) -> None:
    blocks = [one for one in sheets["circuits"].blocks if isinstance(one, Figures)]
    captions = " ".join(figure.caption for block in blocks for figure in block.figures)
    for function in facts.functions:
        if function.lines or function.servos or function.lights:
            assert function.name in captions
    terminals = {row.key.rpartition("/")[0] for row in table(sheets, "terminals").rows}
    lines = {line.name for line in facts.plan.lines}
    assert terminals == lines | {light.name for light in facts.plan.lights}


def test_the_sums_are_on_paper(facts: Facts, sheets: dict[str, Sheet]) -> None:
    electrics = facts.electrics
    assert electrics is not None
    wires = [row.cells[0] for row in table(sheets, "wires").rows]
    assert wires == [wire.number for wire in electrics.wires]
    parts = table(sheets, "parts").rows
    assert sum(int(row.cells[1]) for row in parts) == sum(p.quantity for p in electrics.parts)
    for number, connector in enumerate(electrics.connectors, 1):
        contacts = [row.cells[0] for row in table(sheets, f"connector-{number}").rows]
        assert contacts == [str(one.number) for one in connector.contacts]
    if facts.ship.supplies is None:
        assert not {"supplies", "fuses"} & sheets.keys()
        return
    fuses = [row.cells[0] for row in table(sheets, "fuses").rows]
    assert fuses == [fuse.number for fuse in electrics.fuses]
    branches = [row.cells[0] for row in table(sheets, "supplies").rows]
    assert branches == [branch.name for branch in electrics.branches]
    drawn = drawings(sheets["supplies"])
    assert [one.fuse for one in electrics.branches if f">{one.fuse}<" not in drawn] == []


def test_every_expectation_of_every_trial_has_a_box(facts: Facts, sheets: dict[str, Sheet]) -> None:
    rows = table(sheets, "trials").rows
    for trial in facts.trials:
        mine = [row for row in rows if row.key.startswith(f"{trial.name}/")]
        expected = [step for step in trial.steps if isinstance(step, Expect)]
        then = [row.cells[2].lower() for row in mine if row.cells[2]]
        assert then == [step.text.removeprefix("expect ").lower() for step in expected]
        assert all(row.cells[1] for row in mine)


def test_fuse_and_polarity_come_first(sheets: dict[str, Sheet]) -> None:
    blocks = sheets["commissioning"].blocks
    assert isinstance(blocks[0], Cautions)
    names = [one.name for one in blocks if isinstance(one, Table)]
    assert names[:2] == ["commissioning-before", "commissioning-battery"]
    assert names[-1] == "trials"
    before = [row.key for row in table(sheets, "commissioning-before").rows]
    assert before[0] == "propellers"
    assert {"main fuse", "polarity"} <= set(before)


def test_every_function_that_drives_something_can_be_searched_for_a_fault(
    facts: Facts, sheets: dict[str, Sheet]
) -> None:
    symptoms = {row.cells[0].lower() for row in table(sheets, "faults").rows}
    for function in facts.functions:
        assert any(one.startswith(function.name.lower()) for one in symptoms)
    for row in table(sheets, "faults").rows:
        assert all((row.cells[1], row.cells[3], row.cells[4]))


CAUTIONS = {
    "cover": ("fuse at the battery", "pinch", "propellers", "charge", "local codes"),
    "control-card": ("fingers", "propellers"),
    "wiring": ("battery off", "water"),
    "supplies": ("fuse is next to the battery", "charge", "hot"),
    "fuses": ("never fit a bigger one",),
    "commissioning": ("propellers off", "fuse", "charge", "water", "hot", "local codes"),
    "faults": ("propellers off",),
}


@pytest.mark.parametrize("name", CAUTIONS)
def test_cautions_stand_where_they_belong(
    facts: Facts, sheets: dict[str, Sheet], name: str
) -> None:
    if name not in ("cover", *sheets):
        assert facts.ship.supplies is None
        return
    sheet = cover(facts, list(sheets.values()), "") if name == "cover" else sheets[name]
    texts = " ".join(t for one in sheet.blocks if isinstance(one, Cautions) for t in one.texts)
    assert [word for word in CAUTIONS[name] if word not in texts.lower()] == []


def test_what_is_unsafe_stands_on_the_cover(tmp_path: Path) -> None:
    wire = {"  12 V:    {from: battery, fuse: auto}": "  12 V:    {from: battery, wire: 0.25 mm2}"}
    facts = facts_of(changed("launch", tmp_path, wire))
    assert facts.electrics is not None
    unsafe = [one for one in facts.electrics.findings if one.is_error]
    assert unsafe
    first = cover(facts, all_sheets(facts), "")
    found = table({"cover": first}, "findings")
    assert [row.cells[0] for row in found.rows].count("unsafe") == len(unsafe)
    cautions = [one for one in first.blocks if isinstance(one, Cautions)]
    assert cautions[0].texts[0].startswith("Do not wire by these papers yet")
