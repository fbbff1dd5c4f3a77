"""What is claimed of every plan without being asked, one file a subject."""

from __future__ import annotations

from typing import TYPE_CHECKING

from host_tools.prove.claims.counts import count_claims
from host_tools.prove.claims.forced import forced_claims
from host_tools.prove.claims.gates import gate_claims
from host_tools.prove.claims.held import held_claims
from host_tools.prove.claims.loss import loss_claims
from host_tools.prove.claims.starts import start_claims
from host_tools.prove.claims.times import time_claims
from host_tools.prove.claims.winch import winch_claims
from host_tools.prove.claims.winch_place import place_claims

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.claim import Claim


def claims_of(plan: Plan) -> Iterator[Claim]:
    """Every claim, by function in the plan's order."""
    for index in range(len(plan.functions)):
        yield from winch_claims(plan, index)
        yield from place_claims(plan, index)
        yield from held_claims(plan, index)
        yield from time_claims(plan, index)
        yield from loss_claims(plan, index)
        yield from start_claims(plan, index)
        yield from gate_claims(plan, index)
        yield from forced_claims(plan, index)
        yield from count_claims(plan, index)
