"""A refutation is told only once it was seen: on the model, on the logic, on the firmware."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools import trial as trials
from host_tools.agree import compare

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.refutation import Refutation
    from host_tools.record import Rung


def confirmed(plan: Plan, rung: Rung, refuted: Refutation) -> str | None:
    """What a rung does otherwise than the model with the pulses of a refutation; None if it does
    the same in every tick and its trial falls short there too."""
    difference = compare(plan, rung, refuted.trace)
    if difference is not None:
        return f"{difference.what} at tick {difference.tick}"
    if refuted.trial is not None and not trials.run(plan, refuted.trial, rung):
        return "the trial passes"
    return None
