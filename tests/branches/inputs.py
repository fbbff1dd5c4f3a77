"""What the logic is driven with: drawn plans, each with random and adversarial thumbs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from gen.behaviours import Loss, Rhythm, Sequence
from gen.behaviours.trigger import When
from host_tools.thumbs import random_trace
from tests.bad_rounds import bad_rounds
from tests.mutants.jobs import FAVOURS, TICKS, names
from tests.plans import random_plan

if TYPE_CHECKING:
    from gen.behaviours import Function
    from gen.plan import Plan
    from host_tools.trace import Trace

MORE = (3, 4, 5)
"""Further plans of behaviours that have many options."""

SHAPED = 5
"""Those of them in which some functions are made, not drawn."""


def plans(most: int | None) -> list[tuple[str, int, bool]]:
    """Favoured behaviour, seed, and whether channels are shared, of each; at most so many."""
    made = [(favour, seed, in_turn) for _, favour, seed, in_turn in names()]
    for favour in ("sequence", "winch", "auto", "step", "rhythm"):
        made += [(favour, 100 * FAVOURS.index(favour) + number, False) for number in MORE]
    return made[:most]


def plan_and_traces(favour: str, seed: int, *, in_turn: bool) -> tuple[Plan, list[Trace]]:
    """One plan and what drives it."""
    plan = random_plan(seed, functions=8, favour=favour, in_turn=in_turn)
    if seed % 100 == SHAPED:
        plan = replace(plan, functions=tuple(_shaped(one) for one in plan.functions))
    traces = [random_trace(plan, ticks, seed + number) for number, ticks in enumerate(TICKS[:2])]
    if plan.kept_bytes:
        traces += [replace(traces[0], kept=bytes([kept]) * plan.kept_bytes) for kept in (0, 1)]
    return plan, [*traces, *([bad_rounds(plan)] if in_turn else [])]


def _shaped(function: Function) -> Function:
    """What is seldom drawn: a pattern that comes once, behind whose end a phase would be lit, while
    it is held; a sequence that goes on without a signal and is long under way."""
    if isinstance(function, Rhythm) and function.trigger.ask is not None:
        held = replace(function.trigger, when=When.HELD)
        return replace(
            function,
            repeats=False,
            keeps_phase=False,
            remember=False,
            begins_on=True,
            phases_ticks=(3, 4),
            trigger=held,
        )
    if isinstance(function, Sequence):
        legs = tuple(replace(leg, ticks=2_000, until=None) for leg in function.legs)
        return replace(function, on_loss=Loss.KEEP, abort=None, legs=legs)
    return function
