"""The model one tick at a time, for who does not know the whole trace beforehand."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from host_tools.model.engine import Run
from host_tools.trace import Trace

if TYPE_CHECKING:
    from collections.abc import Iterable

    from gen.plan import Plan
    from host_tools.model.behaviours.gauge import Gauge


class Driven(NamedTuple):
    """What one tick drives, as a Record holds it, the digest at its end, and whether other
    functions or a low battery keep what is forced from what it would be."""

    lines: int
    servos_half_us: tuple[int, ...]
    levels: tuple[int, ...]
    digest: int
    force_is_barred: bool


class Looks(NamedTuple):
    """Everything that there is to see at the end of a tick. `channels` are (NEVER, ALIVE or LOST,
    bad pulses); `controls` (position, value, whether it is armed); `functions` their states;
    `readings` what the sensors' pins say; `force` (function, state), None while nothing is
    forced."""

    channels: tuple[tuple[int, int], ...]
    controls: tuple[tuple[int, int, int], ...]
    functions: tuple[int, ...]
    lines: int
    servos_half_us: tuple[int, ...]
    levels: tuple[int, ...]
    readings: tuple[int, ...]
    force: tuple[int, int] | None


NEVER, ALIVE, LOST = range(3)
"""What is known of a channel: it was never heard, is heard, or is no longer."""


class Stepwise:
    """A ship from power-up on; `now` is the tick to come. It finds `kept` at power-up."""

    def __init__(self, plan: Plan, kept: bytes = b"") -> None:
        self.plan = plan
        self.now = 0
        names = tuple(one.name for one in plan.inputs)
        nothing = Trace(
            0, names, np.zeros(0, np.int64), np.zeros((0, len(names)), np.uint16), kept=kept
        )
        self._run = Run(plan, nothing, digests=True)

    def tick(
        self,
        pulses: Iterable[tuple[int, int]] = (),
        readings: Iterable[tuple[int, int]] = (),
    ) -> Driven:
        """Runs one tick with these pulses (input, half microseconds; in their order) and readings
        (a place in `Plan.readings` and what is read there; each holds until another one comes)."""
        run, now = self._run, self.now
        run.step(now, pulses, readings)
        self.now = now + 1
        barred = run.force is not None and run.force.barred
        return Driven(run.lines, tuple(run.servos), tuple(run.levels), run.digest(now), barred)

    @property
    def kept(self) -> bytes:
        """What would be found at the next power-up."""
        return self._run.kept()

    def rooms(self, winch: int) -> tuple[int, int]:
        """What a winch has left of its travel each way, in its units (behaviours/winch.h)."""
        _, first, second = self._run.functions[winch].rooms  # type: ignore[attr-defined]
        return first, second

    def state(self, function: int) -> int:
        """The state of one function at the end of the last tick."""
        return self._run.functions[function].state()

    def looks(self) -> Looks:
        """All that can be seen at the end of the last tick."""
        run, force = self._run, self._run.force
        return Looks(
            tuple((LOST if c.lost else int(c.alive), c.bad_pulses) for c in run.channels),
            tuple((c.position, c.value, int(c.armed)) for c in run.controls),
            tuple([function.state() for function in run.functions]),
            run.lines,
            tuple(run.servos),
            tuple(run.levels),
            tuple(sensor.reading for sensor in run.sensors),
            (force.function, force.state) if force is not None and force.reading else None,
        )

    def gauges(self, function: int) -> tuple[Gauge, ...]:
        """What one function counts at the end of the last tick."""
        return self._run.functions[function].gauges()
