"""The model in real time: a ship without anything."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.plan import TICK_MS
from host_tools.bench.radio import Radio, next_of
from host_tools.bench.source import MODEL, NOT_CONSENTED, UP, Allowed, Link, Tick
from host_tools.link.identity import BENCH_NONE, BENCH_ON
from host_tools.link.simulated.bench import ANSWER_TICKS, Bench
from host_tools.model.stepwise import Stepwise

if TYPE_CHECKING:
    from collections.abc import Callable

    from gen.plan import Plan
    from host_tools.bench.radio import Hand
    from host_tools.model.behaviours.gauge import Gauge

MOST_AT_ONCE = 200
"""Ticks that are caught up with in one turn; what is behind that is let go, so that a computer that
slept does not race through the night."""


class SimulatedModel:
    """`clock` gives seconds; the ship runs `speed` times as fast."""

    kind = MODEL
    where = "simulated model"
    agreement = None

    def __init__(
        self, plan: Plan, clock: Callable[[], float], *, speed: float = 1.0, first_k: int = 0
    ) -> None:
        self.plan = plan
        self.radio = Radio(plan)
        self.until = first_k
        self.breathe: Callable[[], None] = lambda: None
        self.link = Link(UP, plan_id=plan.plan_id, ship=plan.ship)
        self._clock = clock
        self._tick_s = TICK_MS / 1000 / speed
        self._hand: Hand = self.radio
        self._due_at = clock()
        self._ahead: list[Tick] = []
        self._kept = b""
        self._felt: dict[int, int] = {}
        self._answers: list[str] = []
        self._power_up("power")

    @property
    def allowed(self) -> Allowed:
        if self.plan.bench is None:
            return Allowed(force=False, why=NOT_CONSENTED)
        return Allowed()

    def start(self) -> None:
        self._due_at = self._clock()

    def turn(self) -> list[Tick]:
        ticks, self._ahead = self._ahead, []
        due = int((self._clock() - self._due_at) / self._tick_s)
        self._due_at += max(due, 0) * self._tick_s
        ticks += [self._tick() for _ in range(min(due, MOST_AT_ONCE))]
        return ticks

    def gauges(self, function: int) -> tuple[Gauge, ...]:
        return self._model.gauges(function)

    def restart(self, cause: str, *, forget: bool = False) -> None:
        self._kept = b"" if forget else self._model.kept
        self._power_up(cause)

    def play(self, hand: Hand | None) -> None:
        self._hand = hand or self.radio

    def inputs(self, *, ours: bool) -> None:
        """It is always worked from here."""

    def arm(self, function: int) -> str:
        self.here()
        reason = self._bench.obey(0, f"arm {function}", self._model.now)
        return reason if reason is not None else ""

    def force(self, function: int, state: int) -> str:
        """Goes as far ahead as it takes to see whether a rule forbids it: two ticks."""
        self.here()
        answer = self._bench.obey(0, f"force {function} {state}", self._model.now)
        if answer is not None:
            return answer
        self._answers.clear()
        for _ in range(ANSWER_TICKS + 1):
            self._ahead.append(self._tick())
            self._due_at += self._tick_s
            if self._answers:
                return self._answers[0]
        return ""

    def here(self) -> None:
        self._bench.hear(self._model.now)

    def free(self) -> None:
        self._bench.free()

    def close(self) -> None:
        """Nothing has to be tidied up."""

    def _power_up(self, cause: str) -> None:
        self.found = self._kept
        self._model = Stepwise(self.plan, self._kept)
        self._bench = Bench(self.plan, BENCH_NONE if self.plan.bench is None else BENCH_ON)
        self._up = cause

    def _tick(self) -> Tick:
        self._hand, (pulses, felt) = next_of(self._hand, self.radio)
        self._felt.update(felt)
        # What starts anew finds its sensors as they stand.
        readings = list(self._felt.items()) if self._up else felt
        given = list(readings)
        if self.plan.bench is not None:
            given.append((len(self.plan.sensors), self._bench.force))
        driven = self._model.tick(pulses, given)
        answer = self._bench.end_tick(self._model.now - 1, force_is_barred=driven.force_is_barred)
        if answer is not None:
            self._answers.append(answer[1])
        tick = Tick(self.until, pulses, readings, self._model.looks(), self._up)
        self._up = ""
        self.until += 1
        return tick
