"""A ship with everything in use, on each board: every behaviour, every kind of input and output,
sensors, conditions and a low battery, in twenty-five functions. Invented, made for measuring."""

from __future__ import annotations

import tempfile
from pathlib import Path
from string import Template

from gen.load import Loaded, load

PINS = {
    "nano": {
        "channels": ("D2", "D3", "D4", "D5", "D6", "D7", "D8"),
        "servos": ("D9", "D10", "D12"),
        "lights": ("D11", "D13"),
        "register": ("A0", "A1", "A2", "A3"),
        "sensors": ("A4", "A5", "A6", "A7"),
    },
    "mega": {
        "channels": ("D50", "D51", "D14", "D15", "A8", "A9", "A10"),
        "servos": ("D11", "D13", "D30"),
        "lights": ("D9", "D31"),
        "register": ("D22", "D23", "D24", "D25"),
        "sensors": ("D26", "D27", "A0", "A1"),
    },
    "micro": {
        "channels": ("D8", "D9", "D10", "D11", "D14", "D15", "D16"),
        "servos": ("D5", "D12", "D13"),
        "lights": ("D6", "D7"),
        "register": ("D2", "D3", "D4", "A4"),
        "sensors": ("A2", "A3", "A0", "A1"),
    },
}
"""Three servos (by a timer as far as the board has any, the last by the processor), two dimmers,
the register's data, clock, latch and blank, two contacts and two voltages."""

SHIP = Template((Path(__file__).with_name("everything.yaml")).read_text(encoding="utf-8"))


def everything(board: str) -> Loaded:
    """The ship on `board`: "nano", "mega" or "micro"."""
    words = {
        f"{kind}_{number}": pin
        for kind, pins in PINS[board].items()
        for number, pin in enumerate(pins, start=1)
    }
    with tempfile.TemporaryDirectory() as folder:
        ship = Path(folder) / "everything.yaml"
        ship.write_text(SHIP.substitute(words, board=board), encoding="utf-8")
        return load(ship)
