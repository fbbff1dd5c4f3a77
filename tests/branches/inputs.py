"""What the logic is driven with: drawn plans, each with random and adversarial thumbs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.thumbs import random_trace
from host_tools.trace import Trace
from tests.mutants.jobs import FAVOURS, IN_TURN, TICKS, names
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.plan import Plan

MORE = (3, 4, 5)
"""Further plans of behaviours that have many options."""

ROWS_A_TICK = 4
MIDDLE_HALF_US = 3000


def plans(most: int | None) -> list[tuple[str, int, bool]]:
    """Favoured behaviour, seed, and whether channels are shared, of each; at most so many."""
    made = [(favour, seed, in_turn) for _, favour, seed, in_turn in names()]
    for favour in ("sequence", "winch", "auto", "step", "rhythm"):
        made += [(favour, 100 * FAVOURS.index(favour) + number, False) for number in MORE]
    return made[:most]


def plan_and_traces(favour: str, seed: int, *, in_turn: bool) -> tuple[Plan, list[Trace]]:
    """One plan and what drives it."""
    plan = random_plan(seed, functions=8, favour=favour, in_turn=in_turn)
    traces = [random_trace(plan, ticks, seed + number) for number, ticks in enumerate(TICKS[:2])]
    return plan, [*traces, *([dropping(plan)] if seed % 100 == IN_TURN and in_turn else [])]


def dropping(plan: Plan) -> Trace:
    """Bad rounds of shared channels and bad frames of a sum signal, until their counts are full."""
    ticks = 0x10000 * 2 // ROWS_A_TICK + 100
    widths = np.zeros((ticks * ROWS_A_TICK, len(plan.inputs)), np.uint16)
    for index, one in enumerate(plan.inputs):
        sharing = plan.channels[one.channels[0]].sharing
        end = 0
        if one.is_sum and plan.sum_signal is not None:
            end = plan.sum_signal.gap_half_us
        elif sharing is not None:
            end = sharing.marker_half_us[0]
        if end:
            widths[0::2, index], widths[1::2, index] = MIDDLE_HALF_US, end
    at = np.repeat(np.arange(ticks), ROWS_A_TICK)
    names_of_inputs = tuple(one.name for one in plan.inputs)
    return Trace(ticks, names_of_inputs, at, widths, plan.ship, plan.plan_id, "bad rounds")
