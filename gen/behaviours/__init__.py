"""The one registry of behaviours.

A behaviour is one class here, one C++ header of the same name in `templates/sketch/behaviours/`,
one model in `host_tools/model/behaviours/`, one row in the user's guide, and its tests.
DEVELOPERS.md walks through adding one.
"""

from __future__ import annotations

from gen.behaviours.auto import Auto
from gen.behaviours.base import Function, Loss
from gen.behaviours.dimmer import Dimmer
from gen.behaviours.follow import Follow
from gen.behaviours.momentary import Momentary
from gen.behaviours.pulse import Pulse
from gen.behaviours.rhythm import Rhythm
from gen.behaviours.sequence import Sequence
from gen.behaviours.step import Step
from gen.behaviours.toggle import Toggle
from gen.behaviours.winch import Winch

REGISTRY: dict[str, type[Function]] = {
    behaviour.key: behaviour
    for behaviour in (
        Toggle,
        Momentary,
        Pulse,
        Step,
        Rhythm,
        Sequence,
        Dimmer,
        Follow,
        Winch,
        Auto,
    )
}
"""The ship file's word for each behaviour, and its class."""

__all__ = [
    "REGISTRY",
    "Auto",
    "Dimmer",
    "Follow",
    "Function",
    "Loss",
    "Momentary",
    "Pulse",
    "Rhythm",
    "Sequence",
    "Step",
    "Toggle",
    "Winch",
]
