"""Every mutant there is."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Any

from gen.behaviours import REGISTRY
from gen.behaviours.follow import Mixed, Stick, Tied
from gen.behaviours.sequence import Leg
from gen.behaviours.trigger import Trigger
from gen.behaviours.winch import Duty
from gen.plan import (
    AnalogueSensor,
    Bar,
    Channel,
    Control,
    DigitalSensor,
    Felt,
    First,
    Position,
    Servo,
    Sharing,
    Stage,
    StateOf,
    SumSignal,
)
from tests.mutants.changes import Mutant, of_cpp, of_python

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]
SKETCH = ROOT / "templates" / "sketch"

NOT_LOGIC = {"flash.h", "inline.h", "pulses.h", "readings.h", "report.h"}

MODEL = (
    *("gate.py", "force.py", "receiver.py", "sensors.py", "shared.py"),
    *(f"behaviours/{name}" for name in ("base.py", "trigger.py")),
)

PLAN = (
    *(Channel, Sharing, SumSignal, Control, Position, AnalogueSensor, DigitalSensor, Stage, Servo),
    *(Felt, StateOf, Bar, First, Trigger, Stick, Tied, Mixed, Leg, Duty),
)
"""The parts of a plan besides the functions themselves."""

NO_MEANING = {
    "name", "code", "pin", "source_line", "unit", "text", "said", "ways", "kind", "line_names",
    "falling", "full_scale_uv", "active_low", "range_half_us", "names", "drives", "pair_lines",
    "own_lines", "gate", "function", "control", "channel", "sensor",
}  # fmt: skip
"""Words for people, and what points at other parts: another part is no small change."""


def logic() -> Iterator[Mutant]:
    """Of every header of the sketch's logic."""
    for part in ("behaviours", "logic"):
        for path in sorted((SKETCH / part).glob("*.h")):
            if path.name not in NOT_LOGIC:
                yield from of_cpp(f"{part}/{path.name}", path.read_text(encoding="utf-8"))


def model() -> Iterator[Mutant]:
    """Of the model's behaviours and of what they stand on."""
    folder = ROOT / "host_tools" / "model"
    files = [*MODEL, *(f"behaviours/{name}.py" for name in REGISTRY)]
    for name in files:
        path = folder / name
        text = path.read_text(encoding="utf-8")
        told = {n for n, line in enumerate(text.split("\n"), start=1) if _is_told(text, n, line)}
        for one in of_python(f"host_tools/model/{name}", text):
            if one.line not in told:
                yield one


def _is_told(text: str, number: int, line: str) -> bool:
    """Whether a line only tells people how far something is: what `gauges` says drives nothing."""
    before = [one for one in text.split("\n")[: number - 1] if one.startswith("    def ")]
    in_gauges = bool(before) and before[-1].startswith("    def gauges")
    return in_gauges and line.startswith("        ")


def plan() -> Iterator[Mutant]:
    """Of every number, choice and truth in a plan."""
    owners: list[Any] = [*PLAN, *(keys for keys in _functions())]
    for owner in owners:
        for member in dataclasses.fields(owner):
            if member.name in NO_MEANING or not member.init:
                continue
            for change in ("+1", "-1", "not", "next", "[0]+1", "[0]-1", "[1]+1", "[1]-1", "[0]not"):
                text = f"{owner.__name__}.{member.name}"
                yield Mutant("plan", owner.__name__, 0, 0, member.name, change, text)


def _functions() -> Iterator[type]:
    import gen.behaviours as every  # noqa: PLC0415 - by name, below

    for key in REGISTRY:
        yield getattr(every, key.capitalize())


def all_mutants() -> list[Mutant]:
    """All three kinds."""
    return [*logic(), *model(), *plan()]
