"""What flows in each supply now: what the sums say of every load, in its present state."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from gen.lightness import FULL
from host_tools.electrical.of_ship import sum_up

if TYPE_CHECKING:
    from collections.abc import Collection

    from gen.boards import Board
    from gen.plan import Plan
    from gen.ship import Ship
    from host_tools.electrical.electrics import Branch
    from host_tools.electrical.tree import Share, Tree
    from host_tools.model.stepwise import Looks

MA_PER_A = 1000


@dataclass(frozen=True)
class Supply:
    """One supply with what it gives at worst; `fuse_a` is None where none protects it."""

    branch: Branch
    fuse_a: float | None


@dataclass(frozen=True)
class _Taker:
    """One load's part of a supply's current, in mA: while it runs, and while it is held fast."""

    function: int
    states: frozenset[int]
    ma: float
    stalled_ma: float


class Currents:
    """Of one ship. `supplies` are empty where its file has none."""

    def __init__(self, ship: Ship, plan: Plan, board: Board) -> None:
        self._plan = plan
        self.supplies: tuple[Supply, ...] = ()
        self.missing = "the ship file has no supplies"
        self.may_stall: frozenset[int] = frozenset()
        self._always_ma: list[float] = []
        self._takers: list[list[_Taker]] = []
        if ship.supplies is None:
            return
        summed = sum_up(ship, plan, board)
        electrics = summed.electrics
        fuses = {fuse.number: fuse.rating_a for fuse in electrics.fuses}
        branches = [one for one in electrics.branches if one.of != "load"]
        self.supplies = tuple(Supply(one, fuses.get(one.fuse)) for one in branches)
        self.missing = ""
        for branch in branches:
            self._add(branch.name, summed.tree)
        self.may_stall = frozenset(
            share.consumer.function
            for node in summed.tree.batteries
            for share in summed.tree.shares(node)
            if share.consumer.function is not None and share.consumer.stalls is not None
        )

    def now_ma(self, looks: Looks, stalled: Collection[int] = ()) -> list[int]:
        """What each supply gives now; `stalled` are functions whose motor is held fast."""
        return [
            round(always + sum(self._takes(one, looks, stalled) for one in takers))
            for always, takers in zip(self._always_ma, self._takers, strict=True)
        ]

    def _add(self, name: str, tree: Tree) -> None:
        shares = list(tree.shares(tree.nodes[name]))
        always = [share for share in shares if share.consumer.function is None]
        self._always_ma.append(
            MA_PER_A * sum(share.factor * share.consumer.draws.value for share in always)
        )
        self._takers.append(
            [
                _taker(share, index)
                for share in shares
                if (index := share.consumer.function) is not None
            ]
        )

    def _takes(self, one: _Taker, looks: Looks, stalled: Collection[int]) -> float:
        if looks.functions[one.function] not in one.states:
            return 0.0
        if one.function in stalled:
            return one.stalled_ma
        lights = self._plan.functions[one.function].lights
        if not lights:
            return one.ma
        # What is dimmed takes its current for a part of the time.
        return one.ma * sum(looks.levels[light] for light in lights) / (len(lights) * FULL)


def _taker(share: Share, function: int) -> _Taker:
    consumer = share.consumer
    ma = MA_PER_A * share.factor * consumer.draws.value
    stalls = consumer.stalls
    stalled = MA_PER_A * share.factor * stalls.value if stalls is not None else ma
    return _Taker(function, consumer.states, ma, stalled)
