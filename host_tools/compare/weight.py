"""How much a change matters to safety: what is told first."""

from __future__ import annotations

LOSS, LIMITS, INTERLOCKS, BELIEF, FUSES, DOES, WIRED, NAMES, ORDER = range(9)
"""What happens without a signal; how far and how long it runs; what keeps functions apart; when a
control is believed; fuses and currents; what it does besides; pins and wires; names; order."""

_BY_KEY = {
    LOSS: ("on loss", "lost after", "lost below", "lost above"),
    LIMITS: (
        *("limit", "pause", "ends", "stall", "duty", "unknown", "longest", "run on"),
        *("neutral first", "range", "speed", "winch", "for"),
    ),
    INTERLOCKS: (
        *("only while", "never with", "first", "then", "never together", "both is stop"),
        *("low battery", "stages", "recovers", "watches", "rules", "abort", "stop"),
    ),
    BELIEF: (
        *("rest", "settle", "hysteresis", "positions", "remember", "valid", "shares", "marker"),
        *("frames per slot", "gap", "polarity", "slot", "debounce", "filter", "bench", "channels"),
    ),
    FUSES: (
        *("fuse", "fuse kind", "contacts", "rating", "draws", "stalls", "surge", "capacity"),
        *("load", "loads", "coil", "power", "leds", "voltage", "chemistry", "resistance", "have"),
        *("ampacity", "temperature", "board supply", "board draws", "supply", "peukert", "at"),
    ),
    WIRED: (
        *("pin", "active", "drives", "wire", "length", "carries", "returns", "data", "clock"),
        *("latch", "blank", "drop", "board", "driver", "from", "outputs", "harness", "jumper"),
    ),
    NAMES: (),
    ORDER: ("colour", "code name", "remark", "drum", "ship"),
}
_BY_NAME = {key: weight for weight, keys in _BY_KEY.items() for key in keys}
_BY_PART = {
    "function": DOES,
    "control": BELIEF,
    "channel": BELIEF,
    "sensor": BELIEF,
    "group": INTERLOCKS,
    "supply": FUSES,
    "always on": FUSES,
    "output": WIRED,
    "driver": WIRED,
    "connector": WIRED,
}


def weight_of(part: str, what: str, *, gone: bool) -> int:
    """Of a change of `what` ("limit: lower") in a part; "" is the part itself."""
    if not what:
        return INTERLOCKS if gone and part in ("function", "control") else _BY_PART.get(part, DOES)
    words = what.split(": ")
    known = [_BY_NAME[word] for word in words if word in _BY_NAME]
    if part == "control" and words[0] in ("from", "kind"):
        return BELIEF
    if known and words[0] in ("load", "loads", "coil", "power"):
        return known[-1] if known[-1] in (FUSES, WIRED, ORDER) else FUSES
    return known[0] if known else _BY_PART.get(part, DOES)
