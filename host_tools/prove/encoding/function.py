"""What all behaviours share: the one way from a control to an output, and what other functions have
to say about it. As `host_tools/model/behaviours/base.py` and `host_tools/model/gate.py` have it.

What the bench forces takes the place of what is asked for; gates and limits come behind it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar

from gen.behaviours import Function, Loss
from gen.behaviours.switched import Switched
from gen.plan import Ask, Felt
from host_tools.model.receiver import bytes_as_word
from host_tools.prove.encoding.part import Count, Flag, Memory, Part, Variable
from host_tools.prove.encoding.sensors import felt

if TYPE_CHECKING:
    from collections.abc import Mapping

    from gen.plan import Control, Plan, StateOf
    from host_tools.prove.algebra import Number, Truth

F = TypeVar("F", bound=Function)
S = TypeVar("S", bound=Switched)


class Looks(Protocol):
    """Where conditions can be looked up."""

    @property
    def sensors(self) -> Mapping[int, Number]:
        """Every sensor's value."""

    @property
    def states(self) -> Mapping[int, Number]:
        """Every function's state."""


@dataclass(frozen=True)
class Seen:
    """What functions look at in one tick: every control's memory, whether its channel is lost,
    every sensor's value, every stage's low, every function's state as it is by now, and what the
    bench forces (None: the ship has no bench)."""

    controls: Mapping[int, Any]
    lost: Mapping[int, Truth]
    sensors: Mapping[int, Number]
    stages: Mapping[int, Truth]
    states: dict[int, Number]
    asked: dict[int, Number]
    force: Memory | None = None


def is_so(a: Any, of: StateOf, states: Mapping[int, Number]) -> Truth:
    """Whether a function is in one of some states, of all functions' states."""
    return a.any_of(*(states[of.function] == state for state in of.states))


def held(a: Any, ask: Ask, controls: Mapping[int, Any]) -> Truth:
    """Whether a control asks for a position, of all controls' memories."""
    control = controls[ask.control]
    return a.both(control.armed, control.position == ask.position)


class FunctionEncoding(Part, Generic[F]):
    """One function at work; it is given `me`, what it remembers."""

    def __init__(self, a: Any, function: F, plan: Plan) -> None:
        super().__init__(a)
        self.function = function
        self.plan = plan
        self.gate = function.gate
        self.waits = [one for one in self.gate.first if one.for_ticks]

    # What the behaviour says

    def memory(self) -> dict[str, Variable]:
        """What the behaviour itself remembers."""
        raise NotImplementedError

    def asked(self, me: Memory, see: Seen) -> Any:
        """What its controls ask for."""
        raise NotImplementedError

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        """What it wants while a signal is lost."""
        raise NotImplementedError

    def when_barred(self, me: Memory) -> Any:
        """What is left to want while other functions keep it from more."""
        del me
        return 0

    def as_forced(self, me: Memory, force: Memory) -> Any:
        """What it wants while the bench forces it."""
        del me
        return force.state

    def limited(self, me: Memory, wanted: Any) -> Any:
        """What limits leave of it."""
        del me
        return wanted

    def become(self, me: Memory, wanted: Any) -> None:
        """Takes it on for this tick."""
        raise NotImplementedError

    def state(self, me: Memory) -> Number:
        """Its state: an index into `Function.states`."""
        raise NotImplementedError

    def state_of(self, me: Memory, wanted: Any) -> Number:
        """Which of its states it would be."""
        del me
        return wanted

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of the behaviour."""
        raise NotImplementedError

    def recall(self, me: Memory, kept: bytes) -> None:
        """Before the first tick: as it was left."""
        del me, kept

    def recalled(self, me: Memory) -> Truth:
        """Whether it may have been left like this, besides its start."""
        del me
        return False

    def lines_on(self, me: Memory) -> dict[int, Truth]:
        """Which of the plan's lines it has on."""
        a, state = self.a, self.state(me)
        return {
            line: a.any_of(
                *(state == s for s, on in enumerate(self.function.patterns) if on >> bit & 1)
            )
            for bit, line in enumerate(self.function.lines)
        }

    def servo_half_us(self, me: Memory) -> Number:
        """The width that its servo is given."""
        raise NotImplementedError

    def levels(self, me: Memory) -> tuple[int, ...]:
        """The duty of each of its lights."""
        raise NotImplementedError

    # What it is made of

    def variables(self) -> dict[str, Variable]:
        gate: dict[str, Variable] = {
            f"since{wait}": Count(0, one.for_ticks) for wait, one in enumerate(self.waits)
        }
        if self.gate.stage is not None:
            gate["shed"] = Flag()
        so: dict[str, Variable] = {
            f"so{bit}": Flag() for bit in range(len(self.function.conditions))
        }
        return self.memory() | so | gate

    def run(self, me: Memory, index: int, see: Seen) -> None:
        """One tick. A function whose asking stops others has been asked before."""
        barred = self.barred(me, see)
        if not self.gate.both_is_stop:
            me.wanted = self.wanted(me, index, see)
        state = self.state_of(me, me.wanted)
        kept_out = self.a.any_of(
            *(self.a.both(state == one, truth) for one, truth in enumerate(barred))
        )
        if see.force is not None:
            bars = self.a.both(kept_out, see.force.function == index + 1, see.force.state != 0)
            see.force.barred = self.a.any_of(see.force.barred, bars)
        wanted = self.branch(kept_out, me, self.when_barred, me.wanted)
        del me.wanted
        self.become(me, self.limited(me, wanted))
        see.states[index] = self.state(me)

    def ask(self, me: Memory, index: int, see: Seen) -> None:
        """The first of two steps, for functions whose asking stops others."""
        me.wanted = self.wanted(me, index, see)
        see.asked[index] = self.state_of(me, me.wanted)

    def wanted(self, me: Memory, index: int, see: Seen) -> Any:
        """What its controls ask for, and what a lost signal leaves of it, or what it is forced
        into."""
        for bit, one in enumerate(self.function.conditions):
            setattr(me, f"so{bit}", self.holds(one, see))
        wanted = self.asked(me, see)
        lost = self.signal_lost(see)
        wanted = self.branch(lost, me, lambda mine: self.when_lost(mine, wanted), wanted)
        force = see.force
        if force is None:
            return wanted
        mine = force.function == index + 1
        return self.branch(mine, me, lambda me: self.as_forced(me, force), wanted)

    def signal_lost(self, see: Seen) -> Truth:
        """Whether any control that it obeys has lost its channel."""
        controls = self.plan.controls
        channels = dict.fromkeys(controls[one].channel for one in self.function.controls)
        return self.a.any_of(*(see.lost[channel] for channel in channels))

    def holds(self, one: Felt | StateOf, see: Looks) -> Truth:
        """Whether a condition is so."""
        if isinstance(one, Felt):
            return felt(self.a, see.sensors[one.sensor], one)
        return is_so(self.a, one, see.states)

    def barred(self, me: Memory, see: Seen) -> list[Truth]:
        """For each of its states, whether it is kept out of it in this tick."""
        a, gate = self.a, self.gate
        everything = [a.no(self.holds(of, see)) for of in gate.only_while]
        wait = 0
        for first in gate.first:
            so = self.holds(first.of, see)
            if first.for_ticks:
                name = f"since{wait}"
                ticks = getattr(me, name)
                setattr(me, name, a.either(so, a.least(ticks + 1, first.for_ticks), 0))
                so = a.both(so, ticks == first.for_ticks)
                wait += 1
            everything.append(a.both(a.no(so), self.state(me) == 0))
        if gate.stage is not None:
            controls = self.function.controls
            rest = a.both(*(self.at_rest(control, see) for control in controls))
            low = see.stages[gate.stage]
            me.shed = a.any_of(low, a.both(a.no(rest), me.shed))
            everything.append(me.shed)
        everything += [see.asked[other] != 0 for other in gate.both_is_stop]
        whole = a.any_of(*everything)
        return [
            a.any_of(whole, *(self.holds(bar.of, see) for bar in gate.bars if state in bar.states))
            for state in range(len(self.function.states))
        ]

    def held(self, ask: Ask | None, see: Seen) -> Truth:
        """Whether a control asks for a position."""
        return False if ask is None else held(self.a, ask, see.controls)

    def at_rest(self, index: int, see: Seen) -> Truth:
        """Whether a control asks for nothing, and is known to."""
        return self.held(Ask(index, self.control(index).rest), see)

    def control(self, index: int) -> Control:
        """A control of the plan."""
        return self.plan.controls[index]

    def pressed(self, me: Memory, ask: Ask, see: Seen, name: str = "ready") -> Truth:
        """Whether a press happens in this tick: a position reached after the control was at rest.
        `name` is where it remembers that."""
        ready = self.a.any_of(getattr(me, name), self.at_rest(ask.control, see))
        pressed = self.a.both(ready, self.held(ask, see))
        setattr(me, name, self.a.both(ready, self.a.no(pressed)))
        return pressed

    def so_word(self, me: Memory) -> int:
        """What it was told of its conditions, a bit each."""
        bits = range(len(self.function.conditions))
        return sum(1 << bit for bit in bits if getattr(me, f"so{bit}"))

    def words(self, me: Memory) -> tuple[int, ...]:
        """What the digest holds of it."""
        since = tuple(getattr(me, f"since{wait}") for wait in range(len(self.waits)))
        shed = () if self.gate.stage is None else (int(me.shed),)
        return (*self.behaviour_words(me), *since, *shed)


class OnOffEncoding(FunctionEncoding[F]):
    """A function of which is wanted: on?"""

    def as_forced(self, me: Memory, force: Memory) -> Any:
        del me
        return force.state != 0

    def when_barred(self, me: Memory) -> Any:
        del me
        return False

    def state_of(self, me: Memory, wanted: Any) -> Number:
        del me
        return self.a.count(wanted)


class SwitchedEncoding(OnOffEncoding[S]):
    """One that is off or on and drives one line."""

    def memory(self) -> dict[str, Variable]:
        return {"on": Flag(), "ready": Flag()}

    def when_lost(self, me: Memory, wanted: Any) -> Any:
        del wanted
        return me.on if self.function.on_loss is Loss.KEEP else self.function.on_loss is Loss.ON

    def become(self, me: Memory, wanted: Any) -> None:
        me.on = wanted

    def state(self, me: Memory) -> Number:
        return self.a.count(me.on)

    def behaviour_words(self, me: Memory) -> tuple[int, ...]:
        return (bytes_as_word(int(me.on), int(me.ready)),)
