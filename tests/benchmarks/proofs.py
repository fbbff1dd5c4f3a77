"""Proofs: how long they take, whether anything stays undecided, and whether every planted fault is
refuted."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from gen.boards import load_board
from gen.load import load
from host_tools.cli.ships import starters
from host_tools.prove.claims import claims_of
from host_tools.prove.claims.currents import current_claims
from host_tools.prove.induction import prove
from host_tools.prove.obligations import REFUTED, UNDECIDED, decide
from host_tools.prove.of_ship import ship_outcomes
from tests.benchmarks.table import Row, at_most
from tests.host_tools.prove.faults import PLANNED
from tests.plans import random_plan

if TYPE_CHECKING:
    from collections.abc import Iterator

    from host_tools.prove.obligations import Outcome

LARGEST = "salvor"
MOST_S = 10.0
DRAWN_SHIPS = 5
DRAWN_SHIPS_LONG = 60


def rows(*, long_run: bool) -> Iterator[Row]:
    """One after the other."""
    undecided = refuted = 0
    for name in starters():
        began = time.monotonic()
        told = proved_of(name)
        seconds = time.monotonic() - began
        undecided += sum(one.verdict == UNDECIDED for one in told)
        refuted += sum(one.verdict == REFUTED for one in told)
        if name == LARGEST:
            yield at_most("prove", f"{name}, {len(told)} obligations", seconds, MOST_S, "s")
    every = f"all {len(starters())} starters"
    yield at_most("obligations undecided", every, undecided, 0, "")
    yield at_most("obligations refuted", every, refuted, 0, "")
    yield drawn_ships(DRAWN_SHIPS_LONG if long_run else DRAWN_SHIPS)
    missed = sum(not is_refuted(number) for number in range(len(PLANNED)))
    yield at_most("planted faults not refuted", f"{len(PLANNED)} in plans", missed, 0, "")


def proved_of(name: str) -> list[Outcome]:
    """Everything that is to be proved of a starter."""
    loaded = load(starters()[name])
    return list(ship_outcomes(loaded.ship, loaded.plan, load_board(loaded.plan.board)))


def drawn_ships(count: int) -> Row:
    """Claims about ships drawn at random that induction does not prove."""
    total = unproved = 0
    for seed in range(count):
        plan = random_plan(seed)
        for claim in (*claims_of(plan), *current_claims(plan)):
            total += 1
            unproved += prove(plan, claim) is None
    return at_most("claims not proved", f"{total} of {count} drawn ships", unproved, 0, "")


def is_refuted(number: int) -> bool:
    """Whether a fault that was planted into a plan is."""
    fault = PLANNED[number]
    meant = [one for one in claims_of(fault.meant) if one.kind == fault.kind]
    return any(decide(fault.planted, claim).verdict == REFUTED for claim in meant)
