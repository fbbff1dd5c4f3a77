"""The control card: what each control does at each position, to stand by the transmitter."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.drawings.positions import position_mark
from host_tools.papers.sheet import Cautions, Notes, Sheet
from host_tools.papers.table import Column, Look, Row, Table
from host_tools.papers.words import conditions, place_of

if TYPE_CHECKING:
    from gen.behaviours.base import Answer
    from gen.plan import Control
    from host_tools.papers.facts import Facts


def control_card(facts: Facts) -> Sheet:
    """One row for each position of each control that asks for something."""
    rows = []
    for index, control in facts.controls:
        colour = facts.ship.controls.items[control.name].colour
        heads = (control.name, colour.value if colour else "", place_of(facts.plan, control))
        heading = "\n".join(filter(None, heads))
        here = [
            (answer, function)
            for function in facts.functions
            for answer in function.answers
            if answer.control == index
        ]
        places = sorted({_order(answer, control) for answer, _ in here})
        for place in places:
            mine = [(one, function) for one, function in here if _order(one, control) == place]
            position = mine[0][0].position
            lines = [f"{function.name}: {answer.does}" for answer, function in mine]
            extra = [
                f"{function.name}: {said}"
                for _, function in mine
                if (said := conditions(facts.plan, function))
            ]
            word = "turned" if position is None else control.positions[position].name
            rows.append(
                Row(
                    key=f"{control.name}/{word}",
                    cells=(heading, "", word, "\n".join(lines), "\n".join(extra)),
                    mark=position_mark(control, position),
                )
            )
        if not here:
            cells = (heading, "", "", "nothing on this ship", "")
            rows.append(Row(f"{control.name}/", cells))
    table = Table(
        name="control-card",
        title="",
        columns=(
            Column("Control", 27, Look.NAME),
            Column("", 8, Look.MARK),
            Column("Position", 17, Look.NAME),
            Column("What the ship does", 43),
            Column("But", 30),
        ),
        rows=tuple(rows),
        grouped=True,
    )
    loss: dict[str, list[str]] = {function.loss_in_words: [] for function in facts.functions}
    for function in facts.functions:
        loss[function.loss_in_words].append(function.name)
    lost = Table(
        name="on-loss",
        title="When the signal goes",
        columns=(Column("The ship", 27), Column("Functions", 98)),
        rows=tuple(Row(words, (words, ", ".join(names))) for words, names in loss.items()),
    )
    notes = Notes(
        (
            "A function answers only after its control has been seen at rest since power-up and "
            "since the signal was lost.",
        )
    )
    cautions = Cautions(
        ("Fingers, hair and cables clear of winches, cranes and propellers: they move at a touch.",)
    )
    return Sheet("control-card", "Control card", (cautions, table, lost, notes))


def _order(answer: Answer, control: Control) -> int:
    """Turning first, then from the top position down, as the hand finds them."""
    if answer.position is None:
        return -1
    return len(control.positions) - 1 - answer.position
