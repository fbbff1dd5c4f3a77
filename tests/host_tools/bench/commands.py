"""What a page may ask for, and with what: as agreed with the page, not as the server has it."""

from __future__ import annotations

COMMANDS: dict[str, tuple[str, ...]] = {
    "move": ("control", "position", "half_us"),
    "sense": ("sensor", "reading"),
    "signal": ("lost", "channels"),
    "noise": ("half_us",),
    "drop": ("percent",),
    "brown_out": (),
    "restart": ("forget",),
    "stall": ("function", "on"),
    "trial": ("name", "sure"),
    "stop": (),
    "record": ("on",),
    "save_trace": ("what", "name", "replace"),
    "trial_text": ("what", "name"),
    "save_trial": ("what", "name", "sure"),
    "inputs": ("on",),
    "arm": ("function", "sure"),
    "force": ("function", "state"),
    "keep": (),
    "free": (),
    "reload": (),
}
