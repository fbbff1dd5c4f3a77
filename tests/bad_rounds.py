"""A trace in which nothing is ever whole: bad rounds and frames until their counts are full."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.trace import Trace

if TYPE_CHECKING:
    from gen.plan import Plan

ROWS_A_TICK = 4
MIDDLE_HALF_US = 3000


def bad_rounds(plan: Plan) -> Trace:
    """Of shared channels a slot and a marker in turn, of a sum signal a place and a gap."""
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
