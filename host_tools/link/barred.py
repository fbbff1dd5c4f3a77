"""Why a ship does not let a function be forced, in its own words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.render.gate_view import gate_remark

if TYPE_CHECKING:
    from gen.plan import Plan


def why_barred(plan: Plan, function: int, state: int) -> str:
    """What keeps a function from one of its `forces`, as far as the ship file says."""
    one = plan.functions[function]
    rules = [words for words in (gate_remark(plan, one),) if words]
    if one.gate.stage is not None:
        rules.append("not with a low battery")
    return f"{one.name} may not be {one.forces[state]} now: {'; '.join(rules)}"
