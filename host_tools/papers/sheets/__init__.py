"""The sheets in the order in which they are bound: one module each, registered here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.sheets.circuits import circuits_sheet
from host_tools.papers.sheets.commissioning import commissioning_sheet
from host_tools.papers.sheets.connectors import connectors_sheet
from host_tools.papers.sheets.control_card import control_card
from host_tools.papers.sheets.faults import faults_sheet
from host_tools.papers.sheets.functions import function_sheet
from host_tools.papers.sheets.fuses import fuses_sheet
from host_tools.papers.sheets.pins import pins_sheet
from host_tools.papers.sheets.relays import relays_sheet
from host_tools.papers.sheets.shopping import shopping_sheet
from host_tools.papers.sheets.supplies import supplies_sheet
from host_tools.papers.sheets.wiring import wiring_sheet

if TYPE_CHECKING:
    from collections.abc import Callable

    from host_tools.papers.facts import Facts
    from host_tools.papers.sheet import Sheet

SHEETS: tuple[Callable[[Facts], Sheet], ...] = (
    control_card,
    function_sheet,
    wiring_sheet,
    connectors_sheet,
    pins_sheet,
    relays_sheet,
    circuits_sheet,
    supplies_sheet,
    fuses_sheet,
    shopping_sheet,
    commissioning_sheet,
    faults_sheet,
)


def all_sheets(facts: Facts) -> tuple[Sheet, ...]:
    """Every sheet that has something to say."""
    made = (sheet(facts) for sheet in SHEETS)
    return tuple(sheet for sheet in made if not sheet.is_empty)
