"""Trials as a person carries them out: what to do, and what must then be so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.plan import AnalogueSensor
from gen.read.steps import (
    CutPower,
    Expect,
    LoseSignal,
    PowerUp,
    Press,
    Send,
    Sense,
    SignalReturns,
    Step,
    Trial,
)
from host_tools.papers.words import sentence

if TYPE_CHECKING:
    from gen.plan import Plan


@dataclass(frozen=True)
class Turn:
    """Some steps, and one thing that is then expected; "" where nothing is."""

    do: str
    expect: str


def turns(plan: Plan, trial: Trial) -> tuple[Turn, ...]:
    """A trial's steps up to each expectation, in sentences."""
    made: list[Turn] = []
    do: list[str] = []
    for step in trial.steps:
        if isinstance(step, Expect):
            made.append(Turn(_joined(do), sentence(step.text.removeprefix("expect "))))
            do = []
        else:
            do.append(_in_words(plan, step))
    if do:
        made.append(Turn(_joined(do), ""))
    return tuple(made)


def _joined(do: list[str]) -> str:
    return "; ".join(do) or "and then"


def _in_words(plan: Plan, step: Step) -> str:
    match step:
        case LoseSignal(channels):
            if len(channels) == len(plan.channels):
                return "switch the transmitter off"
            return f"pull the receiver's plug of {_names(plan, channels)}"
        case SignalReturns(channels):
            if len(channels) == len(plan.channels):
                return "switch the transmitter on again"
            return f"put the plug of {_names(plan, channels)} back"
        case CutPower():
            return "take the supply away and give it back at once"
        case PowerUp():
            return "only now switch the ship on"
        case Send():
            return f"{step.text} (by a computer only: leave out)"
        case Sense(sensor) if isinstance(plan.sensors[sensor], AnalogueSensor):
            return f"{step.text}, with a voltage from the bench"
        case Sense():
            return f"{step.text} by hand"
        case Press() if " for " not in step.text:
            return f"{step.text}, shortly"
    return step.text


def _names(plan: Plan, channels: tuple[int, ...]) -> str:
    return " and ".join(plan.channels[one].name for one in channels)
