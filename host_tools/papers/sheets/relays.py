"""The relay-board map: what goes to each relay, transistor and driver output."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.papers.drawings.relay_map import SwitchRow, Terminal, relay_map
from host_tools.papers.outputs import ARRAY, RELAY, switches_of
from host_tools.papers.sheet import Cautions, Figures, Sheet
from host_tools.papers.table import Column, Look, Row, Table

if TYPE_CHECKING:
    from host_tools.papers.facts import Facts
    from host_tools.papers.outputs import Switch

FREE = "free"


def relays_sheet(facts: Facts) -> Sheet:
    """Every switched output with its terminals, drawn and listed."""
    switches = switches_of(facts)
    rows = [switch_row(one) for one in switches]
    figures = Figures(
        name="relay-map",
        title="",
        figures=relay_map(rows),
        note="All contacts are drawn at rest, with the board without supply: COM lies on NC.",
        wide=True,
    )
    cautions = Cautions(
        (
            "A relay's contact can weld shut: no program opens it then. Have a main switch in"
            " reach.",
            "No contact switches more than is printed on it; a motor that is held fast takes"
            " several times what it takes running.",
        )
    )
    return Sheet("relays", "Relay-board map", (cautions, figures))


def terminals_table(facts: Facts) -> Table:
    """The same as a list."""
    switches = switches_of(facts)
    rows = [switch_row(one) for one in switches]
    return Table(
        name="terminals",
        title="Terminals of the outputs",
        columns=(
            Column("Output", 26, Look.NAME),
            Column("Pin", 14),
            Column("Kind", 16),
            Column("Terminal", 12, Look.NAME),
            Column("Where to", 70),
        ),
        rows=tuple(
            Row(
                key=f"{switch.name}/{terminal.name}",
                cells=(switch.name, switch.pin, _kind(switch), terminal.name, terminal.to),
            )
            for switch, row in zip(switches, rows, strict=True)
            for terminal in row.terminals
        ),
        grouped=True,
    )


def _kind(switch: Switch) -> str:
    if switch.driver:
        return f"{switch.kind}, through {switch.driver}" if switch.kind == RELAY else switch.driver
    return switch.kind


def switch_row(switch: Switch) -> SwitchRow:
    """A switch as the map draws it."""
    function = switch.function.name if switch.function is not None else ""
    return SwitchRow(
        key=switch.name,
        pin=switch.pin.removeprefix("pin "),
        name=switch.name,
        note=", ".join(filter(None, (function if function != switch.name else "", switch.level))),
        is_relay=switch.kind == RELAY,
        terminals=_terminals(switch),
    )


def _terminals(switch: Switch) -> tuple[Terminal, ...]:
    supplies = " and ".join(dict.fromkeys(load.supply for load in switch.loads))
    fed = supplies or "the load's supply"
    if switch.pair and switch.kind == RELAY:
        motor = switch.function.name if switch.function is not None else switch.pair
        return (
            Terminal("NO", f"+ of {fed}, behind its fuse"),
            Terminal("COM", f"motor of {motor}, the end that is + while it goes: {switch.way}"),
            Terminal("NC", "0 V"),
        )
    loads = " and ".join(
        f"{load.name} ({load.text})" if load.text else load.name for load in switch.loads
    )
    if not loads:
        loads = switch.function.name if switch.function is not None else "the load"
    if switch.kind == RELAY:
        return (
            Terminal("NO", f"+ of {loads}"),
            Terminal("COM", f"+ of {fed}, behind its fuse"),
            Terminal("NC", FREE),
        )
    if switch.pair:
        return (Terminal(f"in {switch.way}", "motor driver's input"),)
    if switch.kind == ARRAY:
        return (Terminal(switch.sink.point, f"- of {loads}; its + is on {fed}"),)
    return (Terminal("drain", f"- of {loads}; its + is on {fed}"), Terminal("source", "0 V"))
