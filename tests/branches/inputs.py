"""What the logic is driven with: drawn plans, each with random and adversarial thumbs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.thumbs import random_trace
from tests.bad_rounds import bad_rounds
from tests.mutants.jobs import FAVOURS, TICKS, names
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.trace import Trace

MORE = (3, 4, 5)
"""Further plans of behaviours that have many options."""


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
    return plan, [*traces, *([bad_rounds(plan)] if in_turn else [])]
