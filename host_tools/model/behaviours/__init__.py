"""The model of each behaviour, by the class of its plan."""

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
from host_tools.model.behaviours.auto import AutoModel
from host_tools.model.behaviours.dimmer import DimmerModel
from host_tools.model.behaviours.follow import FollowModel
from host_tools.model.behaviours.momentary import MomentaryModel
from host_tools.model.behaviours.pulse import PulseModel
from host_tools.model.behaviours.rhythm import RhythmModel
from host_tools.model.behaviours.sequence import SequenceModel
from host_tools.model.behaviours.step import StepModel
from host_tools.model.behaviours.toggle import ToggleModel
from host_tools.model.behaviours.winch import WinchModel

if TYPE_CHECKING:
    from gen.behaviours import Function
    from host_tools.model.behaviours.base import FunctionModel

MODELS: dict[type[Function], type[FunctionModel[Any]]] = {
    Toggle: ToggleModel,
    Momentary: MomentaryModel,
    Pulse: PulseModel,
    Step: StepModel,
    Rhythm: RhythmModel,
    Sequence: SequenceModel,
    Dimmer: DimmerModel,
    Follow: FollowModel,
    Winch: WinchModel,
    Auto: AutoModel,
}
