"""What the models of all behaviours share: the one way from a control to an output."""

from __future__ import annotations

from typing import TYPE_CHECKING, Generic, TypeVar

from gen.behaviours import Function, Loss
from gen.behaviours.switched import Switched
from host_tools.model.receiver import bytes_as_word

if TYPE_CHECKING:
    from collections.abc import Sequence

    from gen.plan import Plan
    from host_tools.model.behaviours.gauge import Gauge
    from host_tools.model.receiver import ControlState

F = TypeVar("F", bound=Function)
S = TypeVar("S", bound=Switched)


class FunctionModel(Generic[F]):
    """One function at work, as `logic/function.h` has it.

    `controls` are all controls of the ship; a model keeps what it needs of them.
    """

    def __init__(
        self,
        function: F,
        plan: Plan,  # noqa: ARG002 - behaviours that drive servos look there
        controls: Sequence[ControlState],
    ) -> None:
        self.channels = [controls[index].channel for index in function.controls]
        self.line_bits: dict[int | None, int] = {
            None: 0,
            **{way: 1 << line for way, line in enumerate(function.lines)},
        }

    asked_for = 0
    asked_state = 0

    so = 0
    """Which of `Function.conditions` hold, a bit each; told anew in each tick that it is run in."""

    forced: int | None = None
    """What the bench forces it into, by its number among `Function.forces`."""
    force_begins = False
    """Whether it was something else in the tick before."""
    barred = False
    """Whether it was kept out of what it wanted to be when it was run last."""

    def run(self, barred: int = 0) -> None:
        """One tick: asked for, gated by the signal and by other functions, limited, and become.
        `barred` are the states that it is kept out of, a bit each."""
        self.answer(self.wanted(), barred)

    def wanted(self) -> int:
        """What its controls ask for, and what a lost signal leaves of it, or what it is forced
        into."""
        wanted = self.asked()
        if self.signal_lost():
            wanted = self.when_lost(wanted)
        return wanted if self.forced is None else self.as_forced(self.forced)

    def answer(self, wanted: int, barred: int) -> None:
        """What it becomes of that."""
        self.barred = bool(barred and barred >> self.state_of(wanted) & 1)
        if self.barred:
            wanted = self.when_barred()
        self.become(self.limited(wanted))

    def ask(self) -> None:
        """The first of two steps, for functions whose asking stops others."""
        self.asked_for = self.wanted()
        self.asked_state = self.state_of(self.asked_for)

    def run_asked(self, barred: int) -> None:
        """The second one."""
        self.answer(self.asked_for, barred)

    def state(self) -> int:
        """Its state: an index into `Function.states`."""
        raise NotImplementedError

    def state_of(self, wanted: int) -> int:
        """Which of its states it would be if it were as wanted."""
        return wanted

    def when_barred(self) -> int:
        """What is left to want while other functions keep it from more."""
        return 0

    def as_forced(self, forced: int) -> int:
        """What is wanted of it while the bench forces it into this."""
        return forced

    def signal_lost(self) -> bool:
        """Whether any control that it obeys has lost its channel."""
        for channel in self.channels:  # noqa: SIM110 - any() costs twice as much, 10 million times
            if channel.lost:
                return True
        return False

    def asked(self) -> int:
        """The state that its controls ask for."""
        raise NotImplementedError

    def when_lost(self, wanted: int) -> int:
        """The state that the ship file names for a lost signal."""
        raise NotImplementedError

    def limited(self, wanted: int) -> int:
        """What limits leave of the wanted state."""
        return wanted

    def become(self, state: int) -> None:
        """Takes on a state for this tick."""
        raise NotImplementedError

    def lines_on(self) -> int:
        """Which of the plan's lines it has on, a bit each."""
        return self.line_bits[self.line_on()]

    def levels(self) -> tuple[int, ...]:
        """The duty of each of `Function.lights`."""
        raise NotImplementedError

    def kept(self) -> bytes:
        """What it keeps over power-off."""
        return b""

    def recall(self, kept: bytes) -> None:
        """Before the first tick: as it was left."""

    def line_on(self) -> int | None:
        """Which of `Function.lines` is on, None if none is."""
        return None

    def servo_half_us(self) -> int:
        """The width that its servo is given."""
        raise NotImplementedError

    def gauges(self) -> tuple[Gauge, ...]:
        """What it counts at the end of a tick, for people who watch it."""
        return ()

    def fields(self) -> tuple[int, ...]:
        """All that it remembers, in 16-bit words, as the digest takes them. A function that a tick
        leaves unchanged is not run again before one of its controls changes."""
        raise NotImplementedError


class SwitchedModel(FunctionModel[S]):
    """A function that is off or on and drives one line."""

    def __init__(self, function: S, plan: Plan, controls: Sequence[ControlState]) -> None:
        super().__init__(function, plan, controls)
        self.control = controls[function.ask.control]
        self.position = function.ask.position
        self.loss = function.on_loss
        self.on = False
        self.ready = False

    def when_lost(self, wanted: int) -> int:  # noqa: ARG002 - one signature for all behaviours
        return self.on if self.loss is Loss.KEEP else self.loss is Loss.ON

    def become(self, state: int) -> None:
        self.on = bool(state)

    def state(self) -> int:
        return int(self.on)

    def line_on(self) -> int | None:
        return 0 if self.on else None

    def fields(self) -> tuple[int, ...]:
        return (bytes_as_word(self.on, self.ready),)


class PressedModel(SwitchedModel[S]):
    """One that answers to presses: a position reached after the control has been at rest."""

    def pressed(self) -> bool:
        """Whether a press happens in this tick."""
        if self.control.at_rest():
            self.ready = True
        if not (self.ready and self.control.held_at(self.position)):
            return False
        self.ready = False
        return True


def words(value: int) -> tuple[int, int]:
    """A 32-bit value as the digest takes it: low word, high word."""
    return value & 0xFFFF, value >> 16
