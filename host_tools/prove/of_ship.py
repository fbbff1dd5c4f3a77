"""All that is to be proved of a ship: of its plan, its own rules, its supplies and its board."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

from host_tools.electrical.of_ship import sum_up
from host_tools.prove.claims.rules import rule_claims
from host_tools.prove.hang import hang_outcomes
from host_tools.prove.obligations import outcomes
from host_tools.prove.supplies import supply_outcomes

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from gen.boards import Board
    from gen.plan import Plan
    from gen.read.rules import Rule
    from gen.ship import Ship
    from host_tools.prove.obligations import Outcome


def ship_outcomes(
    ship: Ship, plan: Plan, board: Board, rules: Sequence[Rule] = (), only: Iterable[str] = ()
) -> Iterator[Outcome]:
    """Proves everything, one after another. `only` leaves out what has none of these words in its
    text."""
    words = tuple(only)
    supplies = supply_outcomes(sum_up(ship, plan, board))
    rest: Iterator[Outcome] = itertools.chain(supplies, hang_outcomes(plan, board))
    if words:
        rest = (one for one in rest if any(word in one.text for word in words))
    return itertools.chain(outcomes(plan, rule_claims(plan, rules), only=words), rest)
