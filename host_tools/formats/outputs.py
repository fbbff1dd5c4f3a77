"""What was driven, laid beside the pulses that caused it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from host_tools.formats.table import UNCHANGED, Driven
from host_tools.trace import HELD, NO_PULSE, Trace

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.record import Record


def beside_pulses(plan: Plan, record: Record) -> tuple[Trace, Driven]:
    """The record's trace with a row more for each tick in which only an output changed, and the
    outputs of each row where they changed.
    """
    bits = np.arange(len(plan.lines), dtype=np.uint64)
    lines = ((record.lines[:, None] >> bits) & np.uint64(1)).astype(np.uint16)
    driven = np.hstack([lines, record.servos_half_us, record.levels.astype(np.uint16)])
    changed = np.vstack([np.ones_like(driven[:1], np.bool_), driven[1:] != driven[:-1]])

    old = record.trace
    added = np.setdiff1d(np.flatnonzero(changed.any(axis=1)), old.at)
    at = np.concatenate([old.at, added])
    silence = np.full((len(added), len(old.channels)), NO_PULSE, np.uint16)
    order = np.argsort(at, kind="stable")
    at = at[order]
    still = np.full((len(added), len(old.sensors)), HELD, np.uint16)
    trace = replace(
        old,
        at=at,
        widths_half_us=np.vstack([old.widths_half_us, silence])[order],
        readings=np.vstack([old.readings, still])[order],
    )

    # A tick's outputs stand in the first of its rows.
    first = np.concatenate([[True], at[1:] != at[:-1]]) if len(at) else np.zeros(0, np.bool_)
    cells = np.where(changed[at] & first[:, None], driven[at], UNCHANGED).astype(np.uint16)
    first_light = len(plan.lines) + len(plan.servos)
    return trace, Driven(
        tuple(line.name for line in plan.lines),
        tuple(servo.name for servo in plan.servos),
        cells[:, : len(plan.lines)],
        cells[:, len(plan.lines) : first_light],
        tuple(light.name for light in plan.lights),
        cells[:, first_light:],
    )
