"""The parts of the user's guide that are made from declarations: keys and error codes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours import REGISTRY
from gen.behaviours.base import FunctionKeys
from gen.codes import CODES
from gen.electric import (
    CoilItem,
    ConnectorItem,
    DriverItem,
    DrumItem,
    LedsItem,
    LoadItem,
    ServoPowerItem,
    SupplyItem,
    WiresItem,
)
from gen.read.keys import keys_of
from gen.resolve.controls import BANDS_US, DEAD_BAND_US, ENDS_US, REST
from gen.sensors import AnalogueItem, DigitalItem
from gen.ship import (
    BenchItem,
    ChannelItem,
    ControlItem,
    DimmerItem,
    GroupItem,
    LineItem,
    LowBatteryItem,
    PairItem,
    ReceiverItem,
    RegisterItem,
    ServoItem,
    Ship,
    SumItem,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.read.keys import Key, Record

MADE = "<!-- Made by `python -m gen.generated`; change the declarations, not this page. -->\n"

ABOUT = {
    "ship": "In a ship file",
    "power": "In the electrical sums",
    "rule": "In a ship file's rules",
    "trial": "In a trial's steps",
    "trace": "In a trace",
    "link": "On the link to a board",
    "tools": "Files and programs",
}

_SECTIONS: tuple[tuple[str, str, type[Record]], ...] = (
    ("The ship file", "", Ship),
    ("`receiver:`", "", ReceiverItem),
    ("A sum signal", "", SumItem),
    ("A channel", "In short `NAME: PIN`.", ChannelItem),
    ("A control", "In short `NAME: CHANNEL`.", ControlItem),
    ("A sensor: digital", "In short `NAME: PIN`.", DigitalItem),
    ("A sensor: analogue", "", AnalogueItem),
    ("An output: relay or transistor", "In short `NAME: PIN`.", LineItem),
    ("An output: pair", "Two lines for one motor, never on together.", PairItem),
    ("An output: servo", "", ServoItem),
    ("An output: dimmer", "", DimmerItem),
    ("A group", "", GroupItem),
    ("An output: shift register", "Its outputs are `NAME 1`, `NAME 2` …", RegisterItem),
    ("`low battery:`", "", LowBatteryItem),
    ("`bench:`", "In short `bench: yes`.", BenchItem),
    ("A supply", "", SupplyItem),
    ("`wires:`", "", WiresItem),
    ("A connector of the harness", "", ConnectorItem),
    ("A driver", "In short `NAME: SUPPLY`.", DriverItem),
)

_PARTS: tuple[tuple[str, type[Record]], ...] = (
    ("A load", LoadItem),
    ("`leds:` of a load", LedsItem),
    ("`drum:` of a winch", DrumItem),
    ("`coil:` of a relay", CoilItem),
    ("`power:` of a servo", ServoPowerItem),
)


def errors_page() -> str:
    """Every code, what it means and what to do."""
    parts = [
        "# What the messages mean\n\n",
        MADE,
        "\nEvery message has a place, a code and words: `file:line:col: error[code]: what is wrong`"
        ".\nAll that is wrong with a file is told at once. `error` stops the work (exit code 2);\n"
        "`warning` does not.\n",
    ]
    for about, title in ABOUT.items():
        parts.append(f"\n## {title}\n\n| code | what it means | what to do |\n|---|---|---|\n")
        rows = sorted((code, c) for code, c in CODES.items() if c.about == about)
        parts += [f"| `{code}` | {_cell(c.meaning)} | {_cell(c.remedy)} |\n" for code, c in rows]
    return "".join(parts)


def keys_page() -> str:
    """Every key of the ship file, by section."""
    parts = ["# The keys of a ship file\n\n", MADE]
    for title, intro, record in _SECTIONS:
        parts += _section(f"## {title}", intro, record)
    parts.append("\n## The positions that a control has by itself\n\n")
    parts.append(f"Ends are {ENDS_US[0]}..{ENDS_US[1]} us, the dead band is {DEAD_BAND_US} us.\n\n")
    parts.append("| kind | positions | at rest |\n|---|---|---|\n")
    for kind, bands in BANDS_US.items():
        texts = [f"{name} {low}..{high} us" for name, low, high in bands]
        if kind == "knob":
            texts = ["anywhere (every good pulse)"]
        parts.append(f"| {kind} | {', '.join(texts)} | {REST[kind]} |\n")
    for behaviour in REGISTRY.values():
        doc = " ".join((behaviour.written.__doc__ or "").split())
        parts += _section(f"## A function: {behaviour.key}", doc, behaviour.written)
    for title, part in _PARTS:
        parts += _section(f"## {title}", "", part)
    return "".join(parts)


def _section(title: str, intro: str, record: type[Record]) -> Iterable[str]:
    yield f"\n{title}\n\n"
    if intro:
        yield f"{intro}\n\n"
    yield "| key | value | unless given | what it is |\n|---|---|---|---|\n"
    for key in _in_reading_order(record):
        usual = "needed" if key.required else key.default or ""
        name = "*your own words*" if key.name == record.free else f"`{key.name}`"
        yield f"| {name} | {_cell(key.kind.words)} | {usual} | {_cell(key.about)} |\n"


def _in_reading_order(record: type[Record]) -> list[Key]:
    """What a record adds to the one that it is based on comes before what they share."""
    keys = keys_of(record)
    shared = keys_of(record.__mro__[1]) if issubclass(record, FunctionKeys) else {}
    own = [key for name, key in keys.items() if name not in shared]
    if not shared:
        return own
    return own + [key for name, key in keys.items() if name in shared]


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
