"""How long a control takes to be believed, at the frame rate that most receivers have."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import TICK_MS

if TYPE_CHECKING:
    from gen.plan import Control, Plan

FRAME_MS = 20
"""The usual frame (common practice, no source); receivers from 5 to 25 ms work as well."""

FRAME_TICKS = FRAME_MS // TICK_MS


def press_ticks(plan: Plan, control: Control) -> int:
    """At most so long a new position must last to be surely believed, while no pulse is amiss.

    The thumb may have moved just behind its pulse: that is one frame or, on a shared channel, one
    cycle more than it takes to settle; and a cycle counts when its end has come, as does the frame
    of a sum signal. Each cycle that is dropped makes it one cycle longer.
    """
    return _frames(plan, control, control.settle_pulses + 1) * FRAME_TICKS + 1


def release_ticks(plan: Plan, control: Control) -> int:
    """At most so long something held goes on after the thumb has let go: on a shared channel until
    the end of the first good cycle that says so."""
    shared = plan.channels[control.channel].sharing is not None
    return _frames(plan, control, 2 if shared else control.settle_pulses + 1) * FRAME_TICKS + 1


def _frames(plan: Plan, control: Control, times: int) -> int:
    sharing = plan.channels[control.channel].sharing
    frames = times * (sharing.cycle_frames if sharing is not None else 1)
    in_sum = plan.sum_signal is not None and control.channel in plan.sum_signal.channels
    return frames + in_sum
