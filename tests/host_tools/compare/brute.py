"""The shortest way to where two ships differ, by trying everything on the models themselves: no
encoding, no matching, no guesses. Only for small ships whose names, channels and controls are the
same, with a pin for each channel."""

from __future__ import annotations

import copy
import itertools
from typing import TYPE_CHECKING

from gen.response import FRAME_TICKS
from host_tools.model.stepwise import Stepwise

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan


def soonest(old: Plan, new: Plan, widths: Sequence[Sequence[int]], most_frames: int) -> int | None:
    """The first tick in which any way makes the ships drive something else; `widths` are for each
    channel what it may say in a frame, 0 for nothing. None if none does in so many frames."""
    turns = [number * FRAME_TICKS // len(widths) for number in range(len(widths))]
    layer = [(Stepwise(old), Stepwise(new))]
    known: set[object] = set()
    for frame in range(most_frames):
        fresh = []
        best: int | None = None
        for ships in layer:
            for said in itertools.product(*widths):
                pair = (_copied(ships[0]), _copied(ships[1]))
                for tick in range(FRAME_TICKS):
                    pulses = [
                        (number, width)
                        for number, width in enumerate(said)
                        if width and turns[number] == tick
                    ]
                    one, other = (ship.tick(pulses) for ship in pair)
                    if one[:3] != other[:3]:
                        at = frame * FRAME_TICKS + tick
                        best = at if best is None else min(best, at)
                        break
                state = tuple(_state(ship) for ship in pair)
                if state not in known:
                    known.add(state)
                    fresh.append(pair)
        if best is not None:
            return best
        layer = fresh
    return None


def _copied(ship: Stepwise) -> Stepwise:
    """A ship that goes on by itself. What a run knows of its controls goes by who they are."""
    made = copy.deepcopy(ship)
    run = made._run
    ids = [id(one) for one in run.controls]
    run.control_weights = dict(zip(ids, run.control_weights.values(), strict=True))
    run.control_fields = dict(zip(ids, run.control_fields.values(), strict=True))
    return made


def _state(ship: Stepwise) -> object:
    """All that a ship remembers, and how old it is where that is not told."""
    run = ship._run
    ages = tuple(ship.now - one.heard_at if one.alive else one.still_age for one in run.channels)
    controls = tuple(
        (one.position, one.candidate if one.count else -1, one.count, one.armed, one.value)
        for one in run.controls
    )
    return (
        ages,
        controls,
        tuple(one.fields() for one in run.functions),
        tuple(tuple(gate.fields()) if gate is not None else () for gate in run.gates),
    )
