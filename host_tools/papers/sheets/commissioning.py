"""The commissioning sheet: fuse and polarity first, then each supply, each loss, each trial."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.outputs import chain_of, load_of, loads_in
from host_tools.papers.sheet import Cautions, Notes, Sheet
from host_tools.papers.sheets.trial_words import turns
from host_tools.papers.table import Column, Look, Row, Table
from host_tools.papers.words import asked, sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from host_tools.papers.facts import Facts

BOX = Column("Done", 7, Look.BOX)
MEASURED = Column("Measured", 16, Look.BLANK)


def commissioning_sheet(facts: Facts) -> Sheet:
    """What to check before the battery, with it, and by trial."""
    blocks = (
        Cautions(_cautions(facts)),
        _steps("before", "Battery off", _before(facts)),
        _steps("battery", "Battery on, every load's fuse out", _with_battery(facts)),
        _steps("loads", "One load's fuse after another", _loads(facts)),
        _steps("loss", "Signal lost", _loss(facts)),
        _trials(facts),
        Notes(
            (
                "A box is ticked by whoever saw it. What was not as it should be: battery off, then"
                " the fault-finding sheet.",
                "Ship ________________________   Date ________________   Name ________________",
            )
        ),
    )
    return Sheet("commissioning", "Commissioning sheet", blocks)


def _cautions(facts: Facts) -> tuple[str, ...]:
    moving = [function.name for function in facts.functions if function.moves]
    texts = [
        "Propellers off or couplings apart. Fingers, hair and cables clear of everything that moves"
        + (f": {', '.join(moving)}." if moving else "."),
        "The first fuse is at the battery, as near as it goes, and no bigger than the wire behind"
        " it carries.",
        "Charge with the ship's wiring off, where nothing can burn, as the battery's maker says,"
        " and never alone. Mains chargers and their wiring are for licensed people.",
        "Ship in its stand and dry. Water and current: battery off before a hand goes into a wet"
        " hull. Resistors, regulators and stalled motors get hot enough to burn.",
        "Local codes and licensed practice come first.",
    ]
    return tuple(texts)


def _steps(name: str, title: str, steps: Sequence[tuple[str, str, str]]) -> Table:
    """`steps` are a key, what to do and what must be so."""
    return Table(
        name=f"commissioning-{name}",
        title=title,
        columns=(BOX, Column("Do", 58), Column("Must be", 44), MEASURED),
        rows=tuple(Row(key, ("", do, must, "")) for key, do, must in steps),
    )


def _before(facts: Facts) -> list[tuple[str, str, str]]:
    supplies = facts.ship.supplies
    made = [
        ("propellers", "Propellers off or couplings apart; every winch's hook or line free", "so"),
        ("fuses out", "Take all fuses out", "so"),
        ("main fuse", "Look for the fuse at the battery: how far from its terminal", "next to it"),
    ]
    for supply in supplies or ():
        name = supply.name.value
        made.append(
            (
                f"short {name}",
                f"Resistance between + and 0 V of {name}, loads' fuses out",
                "not near 0 ohm",
            )
        )
    made += [
        ("zero", "0 V of board, receiver, relay boards and every supply joined", "under 1 ohm"),
        (
            "polarity",
            "Polarity of every plug, cable and diode, wire by wire against the wiring schedule",
            "as listed; a diode's ring at +",
        ),
        ("tight", "Pull at each wire in each terminal", "none moves"),
    ]
    return made


def _with_battery(facts: Facts) -> list[tuple[str, str, str]]:
    made = []
    fuses = facts.electrics.fuses if facts.electrics is not None else ()
    for supply in facts.ship.supplies or ():
        name = supply.name.value
        chain = chain_of(facts.ship, name)
        supplies = facts.ship.supplies
        voltage = next(
            (
                supplies.items[one].voltage
                for one in reversed(chain)
                if supplies is not None and supplies.items[one].voltage is not None
            ),
            None,
        )
        said = voltage.text if voltage is not None else "its voltage"
        fuse = next((one for one in fuses if one.branch == name), None)
        put = f"Put in {fuse.number} ({fuse.rating_a:g} A); m" if fuse is not None else "M"
        made.append((f"voltage {name}", f"{put}easure + of {name} to 0 V", said))
    made += [
        ("board", "5 V and GND of the board", "4.75 to 5.25 V, + at 5V"),
        (
            "plan",
            "Ask the board through USB who it is: pinrail identify",
            f"plan {facts.plan.plan_id}",
        ),
        ("quiet", "Transmitter off: every relay and servo", "at rest, nothing hums or is warm"),
        ("receiver", "Transmitter on, all controls at rest", "nothing moves"),
    ]
    return made


def _loads(facts: Facts) -> list[tuple[str, str, str]]:
    """Every function with a load: its fuse, what to move, and what it must take."""
    made = []
    for function in facts.functions:
        for name, item in loads_in(facts.ship, function):
            load = load_of(function.name, name, item)
            fuse = facts.fuse_of(load.branch, load.supply)
            put = f"{fuse} in; " if fuse else ""
            moves = " or ".join(dict.fromkeys(asked(facts.plan, one) for one in function.answers))
            do = f"{put}{moves}" if moves else f"{put}it comes by itself"
            takes = f"; about {load.draws}" if load.draws else ""
            made.append((f"load {load.branch}", do, f"{load.name}{takes}"))
    return made


def _loss(facts: Facts) -> list[tuple[str, str, str]]:
    made = []
    for function in facts.functions:
        if not function.controls:
            continue
        do = f"{sentence(function.name)} on or moving, then the transmitter off"
        made.append((f"loss {function.name}", do, function.loss_in_words))
    return made


def _trials(facts: Facts) -> Table:
    rows = []
    for trial in facts.trials:
        for number, turn in enumerate(turns(facts.plan, trial), 1):
            rows.append(
                Row(
                    f"{trial.name}/{number}",
                    (sentence(trial.name), turn.do, turn.expect, "" if turn.expect else "\u2013"),
                )
            )
    return Table(
        name="trials",
        title="Trials: one by one, each from rest",
        columns=(
            Column("Trial", 30, Look.NAME),
            Column("Do", 52),
            Column("Then", 38),
            BOX,
        ),
        rows=tuple(rows),
        grouped=True,
    )
