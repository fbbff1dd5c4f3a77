"""What became of each function: the same for ever, different after a shortest way, or not known."""

from __future__ import annotations

import time
from dataclasses import dataclass
from functools import cached_property
from importlib.util import find_spec
from typing import TYPE_CHECKING

from gen.response import FRAME_TICKS
from host_tools.compare.hands import Setting
from host_tools.compare.held import found_by_holding, found_by_holding_two
from host_tools.compare.product import Product
from host_tools.compare.reach import reach_of
from host_tools.compare.replay import Held, Replay, held_of
from host_tools.compare.search import ANY_NUMBER, Search

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from host_tools.compare.sameness import Sameness
    from host_tools.compare.search import Found

SAME, DIFFERENT, UNDECIDED, GONE, ADDED = "same", "different", "undecided", "gone", "new"

FIRST_STATES = 30_000
"""So many are visited before anything else is tried: most differences are found among them."""

MORE_STATES = 150_000
MOVED_STATES = 600_000
VISITED = "nothing was found in all that was tried, and it was not proved"

MOVED_TICKS = 2_000
"""A way that is longer than this is not looked through for one with other movements."""

TO_THE_TICK, TO_THE_FRAME, NOT_KNOWN = "tick", "frame", ""


@dataclass(frozen=True)
class Verdict:
    """What became of a function (indices into the plans' functions; None where there is none).

    `how` says by what it was decided. Of one that is different, `way` is what a hand does until
    tick `tick`, in which the ships show something else, and `shortest` how surely nothing shorter
    does: to the tick, to the frame of 20 ms, or not known; `certain_ticks` is for how many it is
    surely the same.
    """

    old: int | None
    new: int | None
    verdict: str
    how: str
    seconds: float
    way: tuple[Held, ...] = ()
    tick: int = 0
    shortest: str = NOT_KNOWN
    certain_ticks: int = 0
    replay: Replay | None = None

    @property
    def is_certain(self) -> bool:
        """Whether there is nothing more to be known of it."""
        if self.verdict == DIFFERENT:
            return self.shortest == TO_THE_TICK
        return self.verdict != UNDECIDED


def verdicts(same: Sameness) -> Iterator[Verdict]:
    """Of every function of both plans: first those that say something else themselves, then those
    that others make different, then the rest."""
    matched = same.matching.functions
    for index in range(len(same.old.plan.functions)):
        if index not in matched:
            yield Verdict(index, None, GONE, "no such function any more", 0.0)
    for index in range(len(same.new.plan.functions)):
        if index not in same.matching.old_functions:
            yield Verdict(None, index, ADDED, "there was no such function", 0.0)
    ranked = sorted(matched, key=lambda one: (one in same.functions, one in same.own, one))
    known: dict[int, Verdict] = {}
    for index in ranked:
        known[index] = Judge(same, index, matched[index], known).verdict()
        yield known[index]


def has_solver() -> bool:
    """Whether the solver is installed."""
    return find_spec("z3") is not None


class Judge:
    """Decides about one function. `known` is what became of others of the old plan so far."""

    def __init__(
        self, same: Sameness, old: int, new: int, known: Mapping[int, Verdict] | None = None
    ) -> None:
        self.same = same
        self.known = known or {}
        self.old, self.new = old, new
        self._began = time.monotonic()

    @cached_property
    def product(self) -> Product:
        """Both, with all that they depend on."""
        reached = reach_of(self.same.old.plan, self.old), reach_of(self.same.new.plan, self.new)
        return Product(self.same, reached, (self.old, self.new))

    @cached_property
    def replay(self) -> Replay:
        """What shows it on the models."""
        return Replay(self.same, self.product.hands, (self.old, self.new))

    def verdict(self) -> Verdict:
        """The answer, as soon as it is known."""
        if self.old in self.same.functions:
            return self._told(SAME, "it says the same")
        search = Search(self.product)
        proof = self._same_for_ever() if self.old in self.same.own else None
        if proof:
            return self._told(SAME, "by induction over one tick")
        first = search.run(ANY_NUMBER, FIRST_STATES)
        if first.path is not None:
            return self._different(first, first.path, first.tick)
        if proof is None and self._same_for_ever():
            return self._told(SAME, "by induction over one tick")
        if first.whole:
            return self._told(UNDECIDED, VISITED)
        path, tick = self._looked_for(search)
        if path is None:
            path, tick = self._after_others(search)
        if path is None:
            last = search.run(ANY_NUMBER, MORE_STATES)
            if last.path is not None:
                return self._different(last, last.path, last.tick)
            if last.whole:
                return self._told(UNDECIDED, VISITED)
            how = "nothing was found, and it was not proved"
            certain = max(first.certain_ticks, last.certain_ticks)
            return self._told(UNDECIDED, how, certain_ticks=certain)
        shortest = self._how_short(path, tick)
        if shortest == NOT_KNOWN:
            path, tick, shortest = self._shorter(search, path, tick)
        if shortest != TO_THE_TICK:
            more = search.run(ANY_NUMBER, MORE_STATES, most_frames=tick // FRAME_TICKS + 1)
            if more.path is not None and more.tick <= tick:
                return self._different(more, more.path, more.tick)
            first = more if more.certain_ticks > first.certain_ticks else first
        return self._different(first, path, tick, shortest)

    def _shorter(
        self, search: Search, path: tuple[Setting, ...], tick: int
    ) -> tuple[tuple[Setting, ...], int, str]:
        """A way with two or three movements that is shorter, if one is found."""
        for moves in (3, 2) if tick <= MOVED_TICKS else ():
            frames = tick // FRAME_TICKS
            found = search.run(moves, MOVED_STATES, calm=True, most_frames=frames)
            if found.path is not None and found.tick < tick:
                return found.path, found.tick, self._how_short(found.path, found.tick)
        return path, tick, NOT_KNOWN

    def _looked_for(self, search: Search) -> tuple[tuple[Setting, ...] | None, int]:
        """A way that is not far-fetched: one setting held, or two or three after each other."""
        settings = self.product.hands.settings
        for calm in (True, False):
            tried = [one for one in settings if not (calm and one.lost)]
            held = found_by_holding(self.product, tried)
            if held is not None:
                return held
        calm_ones = [one for one in settings if not one.lost]
        held = found_by_holding_two(self.product, calm_ones)
        if held is not None:
            return held
        for moves, calm in ((2, True), (2, False), (3, True)):
            found = search.run(moves, MOVED_STATES, calm=calm)
            if found.path is not None:
                return found.path, found.tick
        return None, 0

    def _after_others(self, search: Search) -> tuple[tuple[Setting, ...] | None, int]:
        """A way that begins where something that it looks at has come to differ."""
        for index in sorted(self.product.reached[0].exact - {self.old}):
            verdict = self.known.get(index)
            if verdict is not None and verdict.replay is not None:
                begun = self._in_my_words(verdict)
                for moves, states in ((ANY_NUMBER, FIRST_STATES), (2, MOVED_STATES)):
                    found = search.run(moves, states, after=begun)
                    if found.path is not None:
                        return found.path, found.tick
        return None, 0

    def _in_my_words(self, verdict: Verdict) -> tuple[Setting, ...]:
        """What was done there, set for the thumbs, channels and sensors that count here."""
        assert verdict.replay is not None  # noqa: S101 - who calls has looked
        theirs, mine = verdict.replay.hands, self.product.hands
        rest = mine.settings[0]
        places = {thumb.controls: number for number, thumb in enumerate(theirs.thumbs)}
        pairs = {pair: number for number, pair in enumerate(theirs.channels)}
        felt = {one.sensors: number for number, one in enumerate(theirs.felt)}

        def translated(one: Setting) -> Setting:
            widths = tuple(
                one.widths[places[thumb.controls]] if thumb.controls in places else at_rest
                for thumb, at_rest in zip(mine.thumbs, rest.widths, strict=True)
            )
            lost = frozenset(
                number
                for number, pair in enumerate(mine.channels)
                if pair in pairs and pairs[pair] in one.lost
            )
            readings = tuple(
                one.readings[felt[two.sensors]] if two.sensors in felt else still
                for two, still in zip(mine.felt, rest.readings, strict=True)
            )
            return Setting(widths, lost, readings, one.power)

        return tuple(translated(held.setting) for held in verdict.way for _ in range(held.frames))

    def _same_for_ever(self) -> bool:
        if not has_solver():
            return False
        from host_tools.compare.proof import Proof  # noqa: PLC0415 - z3 is an extra

        return Proof(self.product).same_for_ever()

    def _how_short(self, path: Sequence[Setting], tick: int) -> str:
        if not self.product.hands.thumbs or any(one.power for one in path):
            return NOT_KNOWN
        if not has_solver():
            return NOT_KNOWN
        from host_tools.compare.proof import Proof  # noqa: PLC0415 - z3 is an extra
        from host_tools.compare.runs import known_runs  # noqa: PLC0415 - only proofs need them

        runs = known_runs(self.product, path)
        for until, told in ((tick, TO_THE_TICK), (tick // FRAME_TICKS * FRAME_TICKS, TO_THE_FRAME)):
            if Proof(self.product).same_until(until, runs):
                return told
        return NOT_KNOWN

    def _different(
        self,
        found: Found,
        path: Sequence[Setting],
        tick: int,
        shortest: str | None = None,
    ) -> Verdict:
        """Told once the models did it."""
        way = held_of(path)
        seen = self.replay.differs(way, more_frames=2)
        if shortest is None:
            shortest = TO_THE_TICK if found.certain_ticks == tick else NOT_KNOWN
        if seen is None:
            return self._told(
                UNDECIDED,
                "a way to where they differ was reckoned, but the models do not go it",
                certain_ticks=found.certain_ticks,
            )
        if seen != tick and shortest:
            shortest = TO_THE_FRAME
        certain = seen if shortest == TO_THE_TICK else found.certain_ticks
        return Verdict(
            self.old,
            self.new,
            DIFFERENT,
            "seen on both models",
            time.monotonic() - self._began,
            way,
            seen,
            shortest,
            certain,
            self.replay,
        )

    def _told(self, verdict: str, how: str, certain_ticks: int = 0) -> Verdict:
        spent = time.monotonic() - self._began
        return Verdict(self.old, self.new, verdict, how, spent, certain_ticks=certain_ticks)
