"""A shortest way to where a claim does not hold, among those that a hand can go.

Every state that can be reached is visited, nearest first, thousands at a time. From power-up a
hand does one thing and leaves it for a frame of the receiver (20 ms), in which the claim is looked
at in every tick. What a control or sensor can be told apart by is tried; where it has a value, its
ends and its middle.

Where there are too many states for that, hands are looked at that move once, twice, three times.
"""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from gen.plan import MOST_COUNTS, AnalogueSensor, DigitalSensor, Felt
from gen.response import FRAME_TICKS
from host_tools.prove.algebra import Columns
from host_tools.prove.encoding.part import Flag
from host_tools.prove.state_keys import StateKeys
from host_tools.prove.system import FORCED, HEARD, LOST, watch_of, watch_variables

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from gen.plan import Control, Plan
    from host_tools.prove.claim import Claim
    from host_tools.prove.system import System, Values

MOST_STATES = 600_000
MOST_SECONDS = 40.0
FIRST_SHARE = 0.2
"""The part of that time in which every state is visited, before movements are counted."""

Setting: TypeAlias = "tuple[tuple[str, int], ...]"
"""What a hand sets at once, by input."""

ANY_NUMBER = 1 << 30
MOVES = (1, 2, 3)
LONGEST_FRAMES = 6_000
"""Two minutes: no hand is looked at for longer."""
MOST_CHOICES = 160
NOTHING_FORCED: Setting = ((f"{FORCED}function", 0), (f"{FORCED}state", 0))


@dataclass(frozen=True)
class Found:
    """What a search came to. `path` is what was done in each frame until the claim did not hold
    (None: nowhere found), by input; `ticks` are so many in which it is certain that it does, for
    what was tried; `whole`: every state that there is was visited. With `moves` the path is the
    shortest of those with so many movements."""

    path: tuple[dict[str, int], ...] | None
    ticks: int
    whole: bool
    moves: int = ANY_NUMBER


def searches(
    plan: Plan,
    claim: Claim,
    most_states: int = MOST_STATES,
    most_seconds: float = MOST_SECONDS,
    *,
    by_hand: bool = True,
) -> Iterator[Found]:
    """Looks for the shortest path on which `claim` does not hold: first of all paths, then of those
    with one movement, two, three, for who could not go the one before; where a bench may force
    something, then of those with forces. Those without are left out unless it may be `by_hand`."""
    system = claim.system(Columns(), plan, claim.reaches(plan))
    ways = [False] * by_hand + [True] * (system.force is not None)
    for forced in ways:
        began = time.monotonic()
        searcher = _Search(system, claim, forced=forced)
        found = searcher.run(ANY_NUMBER, most_states, began + FIRST_SHARE * most_seconds)
        yield found
        for moves in () if found.whole else MOVES:
            if time.monotonic() < began + most_seconds:
                yield searcher.run(moves, most_states, began + most_seconds)


class _Search:
    def __init__(self, system: System, claim: Claim, *, forced: bool) -> None:
        self.system = system
        self.claim = claim
        self.variables = system.variables() | watch_variables(claim.watches())
        self.choices = list(choices(system, forced=forced))
        self.keys = StateKeys(self.variables)

    def run(self, most_moves: int, most_states: int, until: float) -> Found:
        """Layer by layer, with at most so many movements."""
        counts = most_moves < ANY_NUMBER
        layer = self._starts()
        known = np.unique(self.keys.of(layer))
        last, used = np.zeros(1, np.int64), np.zeros(1, np.int64)
        trail: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
        while True:
            count = len(next(iter(layer.values())))
            if not count:
                return Found(None, len(trail) * FRAME_TICKS, whole=not counts, moves=most_moves)
            spent = len(known) > most_states or time.monotonic() > until
            if spent or len(trail) > LONGEST_FRAMES:
                return Found(None, len(trail) * FRAME_TICKS, whole=False, moves=most_moves)
            parents = np.repeat(np.arange(count), len(self.choices))
            chosen = np.tile(np.arange(len(self.choices)), count)
            if counts:
                may = (chosen == last[parents]) | (used[parents] < most_moves)
                parents, chosen = parents[may], chosen[may]
            wrong, after = self._frame(layer, parents, chosen)
            if wrong.any():
                trail.append((parents, chosen))
                path = self._path(trail, int(np.flatnonzero(wrong)[0]))
                return Found(path, 0, whole=False, moves=most_moves)
            keys = self.keys.of(after)
            if counts:
                moved = used[parents] + (chosen != last[parents])
                keys = (keys * np.uint64(31) + chosen.astype(np.uint64)) * np.uint64(31)
                keys += moved.astype(np.uint64)
            _, first = np.unique(keys, return_index=True)
            place = np.searchsorted(known, keys[first])
            inside = place < len(known)
            old = np.zeros(len(first), bool)
            old[inside] = known[place[inside]] == keys[first][inside]
            fresh = np.sort(first[~old])
            trail.append((parents[fresh], chosen[fresh]))
            known = np.union1d(known, keys[fresh])
            layer = {name: column[fresh] for name, column in after.items()}
            if counts:
                last, used = chosen[fresh], moved[fresh]

    def _frame(
        self, layer: Values, parents: NDArray[np.int64], chosen: NDArray[np.int64]
    ) -> tuple[NDArray[np.bool_], Values]:
        """A frame later: whether the claim failed in one of its ticks, and the states."""
        state = {name: column[parents] for name, column in layer.items()}
        given = {
            name: np.array([choice[name] for choice in self.choices])[chosen]
            for name in self.system.inputs()
        }
        wrong = np.zeros(len(parents), bool)
        for _ in range(FRAME_TICKS):
            after = self.system.step(state, given)
            before, now = self.system.moment(state), self.system.moment(after)
            me = watch_of(state)
            self.claim.watch(self.system, me, before, now)
            after |= watch_variables(vars(me))
            state = {
                name: np.broadcast_to(np.asarray(after[name]), wrong.shape)
                for name in self.variables
            }
            holds = self.claim.holds(self.system, watch_of(state), self.system.moment(state))
            wrong |= ~np.broadcast_to(np.asarray(holds, bool), wrong.shape)
        return wrong, state

    def _starts(self) -> Values:
        """Power-up, with nothing kept."""
        start: Values = {
            name: np.array([one.start], bool if isinstance(one, Flag) else np.int64)
            for name, one in self.variables.items()
        }
        return start

    def _path(
        self, trail: Sequence[tuple[NDArray[np.int64], NDArray[np.int64]]], row: int
    ) -> tuple[dict[str, int], ...]:
        path = []
        for parents, chosen in reversed(trail):
            path.append(self.choices[int(chosen[row])])
            row = int(parents[row])
        return tuple(reversed(path))


def choices(system: System, *, forced: bool = False) -> Iterator[dict[str, int]]:
    """All that a hand can do for a frame, the least first: everything at rest, one control moved,
    two, ...; every channel heard, or one of them lost; and nothing or, where that is wanted, one
    function `forced`."""
    plan = system.plan
    settings: list[list[Setting]] = []
    for control in system.controls:
        planned = plan.controls[control]
        rest = planned.rest
        places = [rest, *(one for one in range(len(planned.positions)) if one != rest)]
        if planned.proportional:
            settings.append([move for place in places for move in _moves(planned, control, place)])
        else:
            settings.append([((f"k{control}.position", place),) for place in places])
    settings += [
        [((f"s{sensor}.value", value),) for value in readings(system, sensor)]
        for sensor in system.sensors
    ]
    everywhere = tuple((f"c{channel}.phase", HEARD) for channel in system.channels)
    one_lost = [
        tuple((n, LOST if n == f"c{channel}.phase" else v) for n, v in everywhere)
        for channel in system.channels
    ]
    settings.append([everywhere, *one_lost])
    if system.force is not None:
        settings.append(list(_forces(system)) if forced else [NOTHING_FORCED])
    every = itertools.product(*(range(len(one)) for one in settings))
    ranked = sorted(
        itertools.islice(every, 20_000), key=lambda picks: (sum(map(bool, picks)), picks)
    )
    for picks in ranked[:MOST_CHOICES]:
        pairs = [pair for one, pick in zip(settings, picks, strict=True) for pair in one[pick]]
        yield dict(pairs)


def _forces(system: System) -> Iterator[Setting]:
    """Nothing forced, or one of the functions into one of its forces; off is one of them."""
    yield NOTHING_FORCED
    for index in system.exact:
        for state in range(len(system.plan.functions[index].forces)):
            yield (f"{FORCED}function", index + 1), (f"{FORCED}state", state)


def _moves(planned: Control, control: int, place: int) -> Iterator[Setting]:
    """Where a stick may stand within one of its positions: in the middle of it, and at its ends."""
    low, high = planned.ends_half_us
    band = planned.positions[place]
    widths = {(band.low_half_us + band.high_half_us) // 2}
    widths |= {end for end in (low, high) if band.low_half_us <= end <= band.high_half_us}
    for width in sorted(widths, key=lambda one: abs(2 * one - low - high)):
        yield (f"k{control}.position", place), (f"k{control}.value", width)


def readings(system: System, sensor: int) -> list[int]:
    """What a sensor can be told apart by: one value within each band between two edges."""
    planned = system.plan.sensors[sensor]
    if isinstance(planned, DigitalSensor):
        return [0, 1]
    assert isinstance(planned, AnalogueSensor)  # noqa: S101 - there are two kinds
    bands = [
        one
        for function in system.plan.functions
        for one in function.conditions
        if isinstance(one, Felt) and one.sensor == sensor
    ]
    for stage in system.plan.stages:
        bands += [one for one in (stage.below, stage.above) if one.sensor == sensor]
    edges = sorted({0, *(one.low for one in bands), *(one.high + 1 for one in bands)})
    return [edge for edge in edges if edge <= MOST_COUNTS]
