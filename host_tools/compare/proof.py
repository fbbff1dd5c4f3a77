"""Proves that two functions show the same: for ever, or until a tick.

What is guessed of both ships together - this number of one is that of the other, this one has not
begun to change before then, this one changes no faster than so - is kept for as long as it follows
from all that is kept, a tick later; what does not follow is thrown out, until nothing more is. That
both show the same must be among what is left. After Flanagan and Leino, "Houdini, an Annotation
Assistant for ESC/Java" (FME 2001).

What keys say is as free here as in other proofs (`host_tools/prove/system.py`), but the same for
both ships; where ticks are counted, not sooner than a receiver can tell it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
import z3

from gen.behaviours import Winch
from gen.plan import ON_ITS_OWN
from gen.response import FRAME_TICKS
from host_tools.compare.guesses import Guess, guesses_of, in_step, is_apart, is_equal, still
from host_tools.compare.observed import differ, shown
from host_tools.compare.sameness import channel_meaning
from host_tools.prove.encoding.part import Count, Flag
from host_tools.prove.induction import symbol, within
from host_tools.prove.system import HEARD, LOST, System, index_of, memory_of
from host_tools.prove.terms import Terms

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from host_tools.compare.product import Product
    from host_tools.prove.encoding.part import Variable
    from host_tools.prove.system import Values

Run: TypeAlias = "Mapping[str, NDArray[np.int64]]"
"""What is remembered after each tick (shape: ticks, rows), by names as `Product.along` has them."""

MOST_APART = 2
MOST_WAYS = 3
"""What is no larger may be the way that a motor turns."""

SOLVER_MS = 4_000
MOST_ROUNDS = 40
SWAPPED = {"first_room": "second_room", "second_room": "first_room", "so0": "so1", "so1": "so0"}
"""A winch whose ways stand in the other order remembers one in place of the other."""


class Proof:
    """The functions of a product in the solver's terms."""

    def __init__(self, product: Product) -> None:
        self.product = product
        self.same = product.same
        self.a = Terms()
        old, new = product.reached
        self.old = System(self.a, self.same.old.plan, old.exact)
        self.new = System(self.a, self.same.new.plan, new.exact)
        self.names = self._names()

    def _names(self) -> dict[str, str]:
        """Of each variable and input of the new system the old one's that is the same. What is
        heard or felt otherwise has none: it is then free on both, each for itself."""
        matching, same = self.same.matching, self.same
        turned: dict[str, dict[int, int]] = {
            "k": {j: i for j, i in matching.old_controls.items() if i in same.controls},
            "s": {j: i for j, i in matching.old_sensors.items() if i in same.sensors},
            "c": self._channels(),
        }
        made = {}
        for name in (*self.new.variables(), *self.new.inputs()):
            index = index_of(name)
            of: Mapping[int, int] | None = turned.get(name[0])
            if name[0] == "f" and index in self.new.free:
                of = matching.old_functions
            if of is None or index not in of:
                continue
            other = f"{name[0]}{of[index]}{name[name.index('.') :]}"
            if other in self.old.variables() or other in self.old.inputs():
                made[name] = other
        return made

    def _channels(self) -> dict[int, int]:
        """New channels that are lost when old ones are: all their controls are on these."""
        old, new = self.same.old.plan, self.same.new.plan
        pairs = {
            (new.controls[j].channel, old.controls[i].channel)
            for i, j in self.same.matching.controls.items()
            if j in self.new.controls and i in self.old.controls
        }
        return {
            j: i
            for j, i in pairs
            if sum(j == one for one, _ in pairs) == 1 == sum(i == other for _, other in pairs)
            and channel_meaning(new, j) == channel_meaning(old, i)
        }

    # What holds for ever

    def same_for_ever(self) -> bool:
        """Whether it was proved that both functions show the same, whatever happens."""
        guesses = [*self._equalities(), self._shows_the_same()]
        left = self._left(guesses, None)
        texts = {one.text for one in left}
        return "shown" in texts and self._is_kept_alike(texts)

    def _is_kept_alike(self, texts: set[str]) -> bool:
        """Whether what outlives the power is the same on both, and is taken back alike."""
        for j, encoding in self.new.exact.items():
            i = self.same.matching.old_functions.get(j)
            of = self.same.old.plan.functions[i] if i is not None else None
            kept = max(encoding.function.kept_bytes, of.kept_bytes if of is not None else 0)
            if kept and not (
                i in self.same.own and all(f"f{j}.{name}" in texts for name in encoding.memory())
            ):
                return False
        return True

    # What holds until a tick

    def same_until(self, tick: int, runs: Sequence[Run]) -> bool:
        """Whether no receiver's pulses make them differ before `tick`. `runs` are what both ships
        remember on ways that are known, the one to where they differ among them: what is guessed
        from."""
        guesses = [*self._equalities(), *self._from(runs), self._shows_the_same()]
        return any(one.text == "shown" for one in self._left(guesses, tick))

    def _equalities(self) -> Iterator[Guess]:
        """This variable of the new ship is that of the old one."""
        for name, variable in self._exact_variables(self.new).items():
            other = self._partner(name)
            theirs = self.old.variables().get(other) if other is not None else None
            if other is not None and theirs is not None and theirs.start == variable.start:
                yield is_equal(("o:" + other, "n:" + name))
            if other is not None and isinstance(theirs, Count) and isinstance(variable, Count):
                end, far = variable.high, theirs.high
                if end != far and (variable.start, theirs.start) in ((0, 0), (end, far)):
                    yield is_equal(("o:" + other, "n:" + name), end - far)

    def _partner(self, name: str) -> str | None:
        index = index_of(name)
        if name[0] == "g":
            return name  # a stage stands where it stood, or the guess is thrown out
        old = self.same.matching.old_functions.get(index)
        if old is None or old not in self.old.exact:
            return None
        own = name[name.index(".") + 1 :]
        function = self.same.new.plan.functions[index]
        if isinstance(function, Winch) and self.same.new.ways(index) == (1, 0):
            own = SWAPPED.get(own, own)
        return f"f{old}.{own}"

    def _exact_variables(self, system: System) -> dict[str, Variable]:
        kept = [f"f{index}." for index in system.exact] + [f"g{index}." for index in system.stages]
        return {
            name: one
            for name, one in system.variables().items()
            if any(name.startswith(prefix) for prefix in kept)
        }

    def _shows_the_same(self) -> Guess:
        old, new = self.product.asked_about

        def holds(values: Values, _: Any) -> Any:
            mine = shown(self.same.old, old, self.old.exact[old], memory_of(values, f"o:f{old}."))
            theirs = shown(self.same.new, new, self.new.exact[new], memory_of(values, f"n:f{new}."))
            return self.a.no(differ(self.a, mine, theirs))

        return Guess("shown", holds)

    def _from(self, runs: Sequence[Run]) -> Iterator[Guess]:
        """That nothing changes sooner or faster than on the ways that are known."""
        for mark, system in (("o:", self.old), ("n:", self.new)):
            for name, one in self._exact_variables(system).items():
                columns = [run[mark + name] for run in runs]
                yield from guesses_of(
                    mark + name, int(one.start), columns, flag=isinstance(one, Flag)
                )
                if isinstance(one, Flag) or one.high <= MOST_WAYS:
                    yield from self._with_its_keys(mark, system, name, one)
                    yield self._lost_later(mark, system, (name, one), columns)
        for name, one in self._exact_variables(self.new).items():
            other = self._partner(name)
            theirs = self.old.variables().get(other) if other is not None else None
            if other is None or not isinstance(one, Count) or not isinstance(theirs, Count):
                continue
            pairs = [(run["o:" + other], run["n:" + name]) for run in runs]
            names = ("o:" + other, "n:" + name)
            yield from in_step(names, (theirs.start, one.start), pairs)
            steps = np.concatenate([(run["n:" + name] - run["o:" + other]).ravel() for run in runs])
            values, counts = np.unique(steps[steps != 0], return_counts=True)
            for step in values[np.argsort(-counts)][:MOST_APART].tolist():
                yield is_apart(names, one.start, step)

    def _with_its_keys(
        self, mark: str, system: System, name: str, one: Variable
    ) -> Iterator[Guess]:
        """It is as it began unless a key is where it is obeyed, or a signal is lost; and it is not
        as it began while one is."""
        of = index_of(name)
        answers = system.plan.functions[of].answers if name[0] == "f" else ()
        asks = [(each.control, each.position) for each in answers if each.position is not None]

        def asked(v: Values) -> Any:
            return z3.Or(
                *(
                    z3.And(v[f"{mark}k{index}.armed"], v[f"{mark}k{index}.position"] == position)
                    for index, position in asks
                )
            )

        def only(v: Values, _: Any) -> Any:
            lost = [v[f"{mark}c{index}.phase"] == LOST for index in system.channels]
            return z3.Or(v[mark + name] == one.start, asked(v), *lost)

        def surely(v: Values, _: Any) -> Any:
            return z3.Or(v[mark + name] != one.start, z3.Not(asked(v)))

        yield Guess(f"{mark}{name} only while asked", only)

        def ready(v: Values, _: Any) -> Any:
            armed = z3.And(*(v[f"{mark}k{index}.armed"] for index, _ in asks))
            return z3.Or(v[mark + name] != one.start, asked(v), z3.Not(armed))

        def never(v: Values, _: Any) -> Any:
            return z3.Or(v[mark + name] == one.start, z3.Not(asked(v)))

        yield Guess(f"{mark}{name} while asked", surely)
        yield Guess(f"{mark}{name} never while asked", never)
        yield Guess(f"{mark}{name} once armed", ready)

    def _lost_later(
        self,
        mark: str,
        system: System,
        variable: tuple[str, Variable],
        columns: Sequence[NDArray[np.int64]],
    ) -> Guess:
        """Where a signal is lost after it began, that takes as long as a loss takes."""
        name, one = variable
        begun = min(still(int(one.start), column) for column in columns)
        ticks = min(
            (system.plan.channels[index].lost_after_ticks for index in system.channels), default=0
        )

        def holds(v: Values, t: Any) -> Any:
            lost = z3.Or(*(v[f"{mark}c{index}.phase"] == LOST for index in system.channels))
            return z3.Or(v[mark + name] == one.start, z3.Not(lost), t > begun + ticks)

        return Guess(f"{mark}{name} lost later", holds)

    # The machine

    def _left(self, guesses: list[Guess], tick: int | None) -> list[Guess]:
        """What is left of the guesses once none can be thrown out."""
        before = self._state("b")
        now: Any = z3.Int("t")
        facts, after = self._step(before, now, tick)
        start = self._start()
        kept = [
            (one, _truth(one.holds(before, now)), _truth(one.holds(after, now + 1)))
            for one in guesses
            if _is_so(one.holds(start, 0))
        ]
        solver = z3.Solver()
        solver.set("timeout", SOLVER_MS)
        solver.add(*facts)
        for _ in range(MOST_ROUNDS):
            solver.push()
            solver.add(*(then for _, then, _ in kept))
            solver.add(z3.Not(z3.And(*(later for *_, later in kept))))
            answer = solver.check()
            if answer == z3.unsat:
                return [one for one, *_ in kept]
            if answer != z3.sat:
                return []
            model = solver.model()
            kept = [
                entry for entry in kept if z3.is_true(model.eval(entry[2], model_completion=True))
            ]
            solver.pop()
            if not any(one.text == "shown" for one, *_ in kept):
                return []
        return []

    def _state(self, mark: str) -> Values:
        """Unknowns for everything that both remember; what is one on both is one here."""
        made: Values = {
            f"o:{name}": symbol(f"{mark} {name}", one) for name, one in self.old.variables().items()
        }
        for name, one in self.new.variables().items():
            other = self.names.get(name)
            known = made.get(f"o:{other}")
            made[f"n:{name}"] = known if known is not None else symbol(f"{mark}' {name}", one)
        for side, control in self._told():
            made[f"stay{side}{control}"] = z3.Int(f"{mark} stay {side} {control}")
        return made

    def _told(self) -> list[tuple[str, int]]:
        """The controls that are told of: the old ship's, and of the new one those of its own."""
        own = [one for one in self.new.controls if f"k{one}.position" not in self.names]
        return [*(("o:", one) for one in self.old.controls), *(("n:", one) for one in own)]

    def _start(self) -> Values:
        made: Values = {}
        for mark, system in (("o:", self.old), ("n:", self.new)):
            for name, one in system.variables().items():
                made[mark + name] = (
                    z3.BoolVal(one.start) if isinstance(one, Flag) else z3.IntVal(one.start)
                )
        for side, control in self._told():
            made[f"stay{side}{control}"] = z3.IntVal(0)
        return made

    def _step(self, before: Values, now: Any, tick: int | None) -> tuple[list[Any], Values]:
        """What is known of a tick, and everything after it."""
        given = {name: z3.Int(f"given {name}") for name in self.old.inputs()}
        facts = [
            z3.And(one.low <= given[name], given[name] <= one.high)
            for name, one in self.old.inputs().items()
        ]
        theirs = {}
        for name, one in self.new.inputs().items():
            other = self.names.get(name)
            theirs[name] = given[other] if other in given else z3.Int(f"given' {name}")
            facts += [one.low <= theirs[name], theirs[name] <= one.high]
        after: Values = {}
        for mark, system, asked in (("o:", self.old, given), ("n:", self.new, theirs)):
            state = {name: before[mark + name] for name in system.variables()}
            facts += [
                _truth(within(self.a, system.variables(), state)),
                _truth(system.keeps(state)),
            ]
            became = system.step(state, asked)
            after |= {mark + name: _value(one) for name, one in became.items()}
        facts += self.a.bounds
        for side, control in self._told():
            facts += self._told_in_time(side, control, (before, after), now, tick)
        if tick is not None:
            facts += [now >= 0, now < tick]
        return facts, after

    def _told_in_time(
        self,
        side: str,
        control: int,
        values: tuple[Values, Values],
        now: Any,
        tick: int | None,
    ) -> Iterator[Any]:
        """What a receiver needs to tell of this control. It says a width a frame, a new position
        takes as many of them as it has to settle; none but the rest is obeyed before the rest was
        seen; and silence is a loss only once it has lasted."""
        before, after = values
        stay, name = f"stay{side}{control}", f"{side}k{control}.position"
        after[stay] = z3.If(after[name] != before[name], 0, before[stay] + 1)
        yield before[stay] >= 0
        if tick is None:
            return
        plan = (self.same.old if side == "o:" else self.same.new).plan
        planned = plan.controls[control]
        channel = plan.channels[planned.channel]
        turn = min(
            (
                self.product.hands.turn(number)
                for number, pair in enumerate(self.product.hands.channels)
                if pair[side == "n:"] == planned.channel
            ),
            default=0,
        )
        settle, nowhere = planned.settle_pulses, len(planned.positions)
        cycle = FRAME_TICKS
        first = (settle - 1) * cycle + turn
        if planned.slot != ON_ITS_OWN and channel.sharing is not None:
            cycle *= channel.sharing.cycle_frames
            first = settle * cycle + turn
        moved = after[name] != before[name]
        real = after[name] != nowhere
        yield z3.Implies(real, now >= first)
        obeyed = z3.And(real, after[name] != planned.rest, after[f"{side}k{control}.armed"])
        yield z3.Implies(obeyed, now >= first + settle * cycle)
        was = before[name]
        obeyed_then = z3.And(was != nowhere, was != planned.rest, before[f"{side}k{control}.armed"])
        soonest = first + settle * cycle
        phase = before[f"{side}c{planned.channel}.phase"]
        believed = z3.Or(was != nowhere, before[f"{side}k{control}.armed"])
        yield z3.Implies(believed, phase == HEARD)
        yield z3.Implies(obeyed_then, before[stay] <= now - 1 - soonest)
        here = z3.And(before[name] != nowhere, before[stay] >= 0)
        yield z3.Implies(z3.And(moved, real, here), before[stay] + 1 >= settle * cycle)
        heard = after[f"{side}c{planned.channel}.phase"] == HEARD
        if planned.slot == ON_ITS_OWN:
            yield z3.Implies(z3.And(here, heard), real)
        else:
            yield z3.Implies(z3.And(moved, here, heard), before[stay] + 1 >= cycle)
        lost = after[f"{side}c{planned.channel}.phase"] == LOST
        yield z3.Implies(lost, now >= turn + channel.lost_after_ticks)
        lasted = before[stay] + 1 >= channel.lost_after_ticks
        yield z3.Implies(z3.And(lost, phase == HEARD), lasted)


def _is_so(term: Any) -> bool:
    return bool(z3.is_true(z3.simplify(_truth(term))))


def _truth(term: Any) -> Any:
    return z3.BoolVal(bool(term)) if isinstance(term, bool) else term


def _value(one: Any) -> Any:
    if isinstance(one, bool):
        return z3.BoolVal(one)
    return z3.IntVal(one) if isinstance(one, int) else one
