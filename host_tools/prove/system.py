"""Some functions of a plan as a transition system: what they remember, what they may meet in a
tick, and what they make of it.

Functions that a proof is about are written exactly. What they look at is here as it can be at most:

- a control is believed at any position, or at none, in any tick; it is armed once it was believed
  at rest while its channel was heard, and no longer once the channel is lost;
- a channel is silent from power-up, then heard, then lost and heard in turn, in any tick;
- a sensor is within any of its bands, or was not felt yet;
- another function is in any of its states, if it is not written exactly too;
- a bench forces any function into anything, in any tick (`encoding/bench.py` says for how long).

That is more than pulses can do, so that what is proved here holds for every pulse. `pulses.py`
proves that it is more: for every channel and control of the plan, from the pulses themselves. What
may not be is then not proved yet, and is looked for: a way to it counts once it was replayed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from gen.plan import MOST_COUNTS, AnalogueSensor, Felt
from host_tools.prove.encoding.behaviours import function_encoding
from host_tools.prove.encoding.force import ForceEncoding
from host_tools.prove.encoding.function import Seen
from host_tools.prove.encoding.part import Count, Flag, Memory, Variable
from host_tools.prove.encoding.sensors import StageEncoding
from host_tools.prove.encoding.ship import answer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from gen.behaviours import Function
    from gen.plan import Plan
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import FunctionEncoding

SILENT, HEARD, LOST = 0, 1, 2
"""What a channel is: never heard, heard, lost."""

FORCED = "b0."
"""What the names of variables and inputs of the bench's force begin with."""

Values = dict[str, Any]
"""Variables or inputs by name."""


@dataclass(frozen=True)
class Moment:
    """One moment of a system: each exact function's memory, the states of all that are there, and
    what was believed and felt in the tick that led there."""

    functions: Mapping[int, Memory]
    states: Mapping[int, Number]
    controls: Mapping[int, Memory]
    phases: Mapping[int, Number]
    sensors: Mapping[int, Number]
    stages: Mapping[int, Memory]
    force: Memory | None = None

    def forces(self, function: int) -> Truth:
        """Whether the bench forces a function; its last tick is that in which it is forced off."""
        return False if self.force is None else self.force.function == function + 1

    def forces_on(self, a: Any, function: int) -> Truth:
        """Whether the bench forces a function into anything but off."""
        return False if self.force is None else a.both(self.forces(function), self.force.state != 0)

    def lost(self, channel: int) -> Truth:
        """Whether a channel is lost."""
        return self.phases[channel] == LOST


class FreeFunction:
    """A function that may be in any of its states."""

    def __init__(self, both_is_stop: bool, state: Number, asked: Number) -> None:
        self.stops = both_is_stop
        self.state, self.asked = state, asked

    @property
    def gate(self) -> FreeFunction:
        """It stands for its own gate."""
        return self

    @property
    def both_is_stop(self) -> bool:
        """Whether its asking stops others."""
        return self.stops

    def ask(self, me: Any, index: int, see: Seen) -> None:
        """It asks for anything."""
        del me
        see.asked[index] = self.asked

    def run(self, me: Any, index: int, see: Seen) -> None:
        """It becomes anything."""
        del me
        see.states[index] = self.state


class System:
    """`exact` functions of a plan (indices), over an algebra. Where a claim `meant` another plan
    than the one that it is held against, what that one looks at is there too. With `forces` its
    bench, if it has one, may force anything."""

    def __init__(
        self,
        a: Any,
        plan: Plan,
        exact: Iterable[int],
        meant: Plan | None = None,
        *,
        forces: bool = False,
    ) -> None:
        self.a = a
        self.plan = plan
        self._plans = (plan,) if meant is None or meant is plan else (plan, meant)
        self.exact: dict[int, FunctionEncoding[Any]] = {
            index: function_encoding(a, plan.functions[index], plan) for index in sorted(exact)
        }
        seen = {one for each in self._plans for index in self.exact for one in seen_by(each, index)}
        self.free = sorted(seen - set(self.exact))
        has_force = forces and plan.bench is not None
        self.force = ForceEncoding(a, plan) if has_force else None
        self.stages = {
            stage: StageEncoding(a, plan.stages[stage])
            for stage in sorted(
                {one.gate.stage for one in self._described if one.gate.stage is not None}
            )
        }

    @property
    def _described(self) -> list[Function]:
        """The exact functions as the plan has them and, where that differs, as they are meant."""
        return [each.functions[index] for each in self._plans for index in self.exact]

    @cached_property
    def controls(self) -> list[int]:
        """The controls that they obey."""
        return sorted({one for function in self._described for one in function.controls})

    @cached_property
    def channels(self) -> list[int]:
        """Those that these are read from."""
        return sorted({self.plan.controls[control].channel for control in self.controls})

    @cached_property
    def sensors(self) -> list[int]:
        """The sensors that they, and their stages, look at."""
        felt = [
            one.sensor
            for function in self._described
            for one in function.conditions
            if isinstance(one, Felt)
        ]
        return sorted({*felt, *(one.stage.below.sensor for one in self.stages.values())})

    def variables(self) -> dict[str, Variable]:
        """All that is remembered from tick to tick."""
        made: dict[str, Variable] = {}
        for index, function in self.exact.items():
            made |= {f"f{index}.{name}": one for name, one in function.variables().items()}
        for index in self.free:
            made[f"f{index}.state"] = Count(0, len(self.plan.functions[index].states) - 1)
        for index in self.controls:
            none = self.nowhere(index)
            made[f"k{index}.position"] = Count(0, none, none)
            made[f"k{index}.armed"] = Flag()
            if self.plan.controls[index].proportional:
                made[f"k{index}.value"] = Count(0, self._widest(index))
        for index in self.channels:
            made[f"c{index}.phase"] = Count(SILENT, LOST, SILENT)
        for index in self.sensors:
            made[f"s{index}.value"] = Count(0, self.not_felt(index), self.not_felt(index))
        for index, stage in self.stages.items():
            made |= {f"g{index}.{name}": one for name, one in stage.variables().items()}
        if self.force is not None:
            made |= {f"{FORCED}{name}": one for name, one in self.force.variables().items()}
        return made

    def inputs(self) -> dict[str, Count]:
        """What may come in a tick."""
        made = {}
        for index in self.free:
            last = len(self.plan.functions[index].states) - 1
            made[f"f{index}.state"] = Count(0, last)
            if self.plan.functions[index].gate.both_is_stop:
                made[f"f{index}.asked"] = Count(0, last)
        for index in self.controls:
            made[f"k{index}.position"] = Count(0, self.nowhere(index))
            if self.plan.controls[index].proportional:
                made[f"k{index}.value"] = Count(0, self._widest(index))
        for index in self.channels:
            made[f"c{index}.phase"] = Count(SILENT, LOST)
        for index in self.sensors:
            made[f"s{index}.value"] = Count(0, self.not_felt(index))
        if self.force is not None:
            known = self.force.variables()
            made |= {f"{FORCED}{name}": known[name] for name in ("function", "state")}  # type: ignore[misc]  # both are counts
        return made

    def nowhere(self, control: int) -> int:
        """The position of a control that is at none."""
        return len(self.plan.controls[control].positions)

    def not_felt(self, sensor: int) -> int:
        """The value of a sensor that was not read yet: above every band."""
        return MOST_COUNTS + 1 if isinstance(self.plan.sensors[sensor], AnalogueSensor) else 2

    def _widest(self, control: int) -> int:
        return self.plan.channels[self.plan.controls[control].channel].valid_half_us[1]

    def begins(self, state: Values) -> Truth:
        """Whether a state may be that of power-up: as it starts, or as it was left."""
        a = self.a
        kept = {
            index: function.recalled(memory_of(state, f"f{index}."))
            for index, function in self.exact.items()
            if function.function.kept_bytes
        }
        holds = []
        for index, recalled in kept.items():
            starts = self._starts(state, f"f{index}.")
            holds.append(a.any_of(starts, a.both(recalled, self._gate_starts(state, index))))
        others = [name for name in self.variables() if index_of(name) not in kept or name[0] != "f"]
        holds.append(self._as_started(state, others))
        return a.both(*holds)

    def _starts(self, state: Values, prefix: str) -> Truth:
        return self._as_started(
            state, [name for name in self.variables() if name.startswith(prefix)]
        )

    def _gate_starts(self, state: Values, index: int) -> Truth:
        """What surrounds a behaviour is never kept."""
        mine = set(self.exact[index].memory())
        names = [f"f{index}.{one}" for one in self.exact[index].variables() if one not in mine]
        return self._as_started(state, names)

    def _as_started(self, state: Values, names: Iterable[str]) -> Truth:
        variables = self.variables()
        return self.a.both(*(state[name] == variables[name].start for name in names))

    def keeps(self, state: Values) -> Truth:
        """What always holds of what exact functions remember, besides bounds."""
        kept = [f.keeps(memory_of(state, f"f{index}.")) for index, f in self.exact.items()]
        if self.force is not None:
            kept.append(self.force.keeps(memory_of(state, FORCED)))
        return self.a.both(*kept)

    def moment(self, state: Values) -> Moment:
        """A state, to be looked at."""
        functions = {index: memory_of(state, f"f{index}.") for index in self.exact}
        states = {index: f.state(functions[index]) for index, f in self.exact.items()}
        states |= {index: state[f"f{index}.state"] for index in self.free}
        return Moment(
            functions=functions,
            states=states,
            controls={index: memory_of(state, f"k{index}.") for index in self.controls},
            phases={index: state[f"c{index}.phase"] for index in self.channels},
            sensors={index: state[f"s{index}.value"] for index in self.sensors},
            stages={index: memory_of(state, f"g{index}.") for index in self.stages},
            force=memory_of(state, FORCED) if self.force is not None else None,
        )

    def step(self, state: Values, given: Values) -> Values:
        """The state a tick later."""
        a = self.a
        after: Values = {}
        for index in self.channels:
            name = f"c{index}.phase"
            silent = a.both(state[name] == SILENT, given[name] != HEARD)
            heard = a.either(given[name] == LOST, LOST, HEARD)
            after[name] = a.either(silent, SILENT, heard)
        for index in self.controls:
            self._believe(index, state, given, after)
        for index in self.sensors:
            after[f"s{index}.value"] = given[f"s{index}.value"]
        for index, stage in self.stages.items():
            mine = memory_of(state, f"g{index}.")
            stage.look(mine, after[f"s{stage.stage.below.sensor}.value"])
            after |= {f"g{index}.{name}": value for name, value in vars(mine).items()}
        force = None
        if self.force is not None:
            force = memory_of(state, FORCED)
            self.force.look(force, given[f"{FORCED}function"], given[f"{FORCED}state"])
        self._answer(state, given, after, force)
        return after

    def _believe(self, index: int, state: Values, given: Values, after: Values) -> None:
        a, control = self.a, self.plan.controls[index]
        heard = after[f"c{control.channel}.phase"] == HEARD
        position = a.either(heard, given[f"k{index}.position"], self.nowhere(index))
        rests = position == control.rest
        after[f"k{index}.position"] = position
        after[f"k{index}.armed"] = a.both(heard, a.any_of(state[f"k{index}.armed"], rests))
        if control.proportional:
            after[f"k{index}.value"] = given[f"k{index}.value"]

    def _answer(self, state: Values, given: Values, after: Values, force: Memory | None) -> None:
        before = self.moment(state)
        see = Seen(
            controls={index: memory_of(after, f"k{index}.") for index in self.controls},
            lost={index: after[f"c{index}.phase"] == LOST for index in self.channels},
            sensors={index: after[f"s{index}.value"] for index in self.sensors},
            stages={index: after[f"g{index}.low"] for index in self.stages},
            states=dict(before.states),
            asked={},
            force=force,
        )
        parts: dict[int, Any] = dict(self.exact)
        for index in self.free:
            stops = bool(self.plan.functions[index].gate.both_is_stop)
            asked = given[f"f{index}.asked"] if stops else 0
            parts[index] = FreeFunction(stops, given[f"f{index}.state"], asked)
        memory = {index: before.functions.get(index, Memory()) for index in parts}
        answer({index: parts[index] for index in sorted(parts)}, memory, see)
        for index in self.exact:
            after |= {f"f{index}.{name}": value for name, value in vars(memory[index]).items()}
        for index in self.free:
            after[f"f{index}.state"] = see.states[index]
        if force is not None:
            after |= {f"{FORCED}{name}": value for name, value in vars(force).items()}


def memory_of(values: Values, prefix: str) -> Memory:
    """One part's memory out of all variables."""
    cut = len(prefix)
    return Memory(**{name[cut:]: one for name, one in values.items() if name.startswith(prefix)})


def seen_by(plan: Plan, index: int) -> frozenset[int]:
    """The functions that a function looks at."""
    function = plan.functions[index]
    return function.watched | frozenset(function.gate.both_is_stop)


def cone(plan: Plan, functions: Iterable[int]) -> frozenset[int]:
    """Those functions and all that they depend on, near and far."""
    found: set[int] = set()
    edge = set(functions)
    while edge:
        found |= edge
        edge = {other for one in edge for other in seen_by(plan, one)} - found
    return frozenset(found)


def watch_variables(of: Mapping[str, Any]) -> Values:
    """What a claim's watch remembers, by the names that it has beside a system's variables."""
    return {f"w.{name}": one for name, one in of.items()}


def watch_of(values: Values) -> Memory:
    """A claim's watch out of all variables."""
    return memory_of(values, "w.")


def index_of(name: str) -> int:
    """Of which part a variable or an input is, by its index in the plan."""
    return int(name[1 : name.index(".")])
