"""Each behaviour written in the algebra, by the class of its plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import (
    Auto,
    Dimmer,
    Follow,
    Momentary,
    Pulse,
    Rhythm,
    Sequence,
    Step,
    Toggle,
    Winch,
)
from host_tools.prove.encoding.behaviours.auto import AutoEncoding
from host_tools.prove.encoding.behaviours.dimmer import DimmerEncoding
from host_tools.prove.encoding.behaviours.follow import FollowEncoding
from host_tools.prove.encoding.behaviours.momentary import MomentaryEncoding
from host_tools.prove.encoding.behaviours.pulse import PulseEncoding
from host_tools.prove.encoding.behaviours.rhythm import RhythmEncoding
from host_tools.prove.encoding.behaviours.sequence import SequenceEncoding
from host_tools.prove.encoding.behaviours.step import StepEncoding
from host_tools.prove.encoding.behaviours.toggle import ToggleEncoding
from host_tools.prove.encoding.behaviours.winch import WinchEncoding

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.plan import Plan
    from host_tools.prove.encoding.function import FunctionEncoding

ENCODINGS: dict[type[Function], type[FunctionEncoding[Any]]] = {
    Toggle: ToggleEncoding,
    Momentary: MomentaryEncoding,
    Pulse: PulseEncoding,
    Step: StepEncoding,
    Rhythm: RhythmEncoding,
    Sequence: SequenceEncoding,
    Dimmer: DimmerEncoding,
    Follow: FollowEncoding,
    Winch: WinchEncoding,
    Auto: AutoEncoding,
}


def function_encoding(a: Any, function: Function, plan: Plan) -> FunctionEncoding[Any]:
    """One function of the plan. A behaviour that has no encoding is an error, never a skip."""
    return ENCODINGS[type(function)](a, function, plan)
