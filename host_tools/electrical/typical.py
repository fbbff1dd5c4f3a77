"""What flows while a ship does what a trial or a trace makes it do: the mean of each branch, and
how the battery's current goes.

A light takes the share of its duty. A servo takes its current while it is told another width in
each tick, and a tenth of it while it holds. A motor controller takes its load's current in
proportion to how far its stick is from rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from gen.lightness import FULL
from gen.plan import TICK_MS
from host_tools.electrical.battery import Stretch
from host_tools.electrical.figure import PRACTICE, Figure, Given
from host_tools.states import Doing, show_duration

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.electrical.circuits import Circuit
    from host_tools.electrical.consumers import Consumer, Feed
    from host_tools.electrical.tree import Share, Tree
    from host_tools.record import Record

HOLDING = Given("part that a servo takes while it holds", 0.1, "", PRACTICE)

MOVES_WITHIN_TICKS = 20
"""A servo that was told another width within 0.1 s is still on its way: common practice, no source.
"""

STEP_A = 0.001
"""Currents that differ by less are one stretch of the profile."""


@dataclass(frozen=True)
class Typical:
    """What was drawn in one run, which `source` names ("trial 'lights'"). `means` are by branch,
    `profiles` by battery: every current that flowed with the time that it did, largest first."""

    source: str
    ticks: int
    means: dict[str, Figure]
    profiles: dict[str, tuple[Stretch, ...]]

    @property
    def lasted(self) -> str:
        """How long the run was, for people."""
        return show_duration(self.ticks)


def typical_of(
    tree: Tree, circuits: Iterable[Circuit], plan: Plan, record: Record, source: str
) -> Typical:
    """What a run of this plan drew. The record has at least one tick."""
    running = _Running(plan, record)
    means = {}
    for circuit in circuits:
        shares = list(circuit.shares)
        if circuit.to is not None and circuit.to.efficiency is not None:
            shares = list(tree.shares(circuit.to))
        given = [(share, running.drawn_a(share).mean()) for share in shares]
        means[circuit.name] = Figure(
            circuit.name,
            "typical current",
            float(sum(mean for _, mean in given)),
            "A",
            "I = sum of each current * the part of the time for which it flows",
            tuple(
                Given(share.consumer.name, float(mean), "A", source)
                for share, mean in given
                if mean > 0
            ),
            source,
        )
    profiles = {node.name: running.profile(tree.shares(node)) for node in tree.batteries}
    return Typical(source, record.ticks, means, profiles)


class _Running:
    """Reads from a record when each consumer ran."""

    def __init__(self, plan: Plan, record: Record) -> None:
        self.plan = plan
        self.doing = Doing(plan, record)
        self.ticks = record.ticks
        self._parts: dict[int, NDArray[np.float64]] = {}
        self._lines = {line.name: index for index, line in enumerate(plan.lines)}
        self._lights = {light.name: index for index, light in enumerate(plan.lights)}
        self._servos = {servo.name: index for index, servo in enumerate(plan.servos)}

    def drawn_a(self, share: Share) -> NDArray[np.float64]:
        """What flows of a share, tick by tick."""
        consumer = share.consumer
        if id(consumer) not in self._parts:
            self._parts[id(consumer)] = self._part(share.feed, consumer)
        return share.of(consumer.draws).value * self._parts[id(consumer)]

    def profile(self, shares: Iterable[Share]) -> tuple[Stretch, ...]:
        """How long each sum of these shares flowed."""
        total = np.zeros(self.ticks)
        for share in shares:
            total += self.drawn_a(share)
        steps, counts = np.unique(np.round(total / STEP_A).astype(np.int64), return_counts=True)
        return tuple(
            Stretch(step * STEP_A, count * TICK_MS / 1000)
            for step, count in zip(steps.tolist()[::-1], counts.tolist()[::-1], strict=True)
        )

    def _part(self, feed: Feed, consumer: Consumer) -> NDArray[np.float64]:
        """The part of its current that a consumer takes, tick by tick."""
        if feed.kind == "coils":
            return self._on((consumer.name.removesuffix(" coil"),))
        if feed.kind == "servo":
            return self._moving(consumer.name)
        if consumer.function is None:
            return np.ones(self.ticks)
        servos = self.plan.functions[consumer.function].servos
        return self._away(servos[0]) if servos else self._on(feed.outputs)

    def _on(self, outputs: Iterable[str]) -> NDArray[np.float64]:
        """Whether any of these lines is on, or how bright the brightest light is driven."""
        part = np.zeros(self.ticks)
        for output in outputs:
            if output in self._lines:
                part = np.maximum(part, self.doing.line(self._lines[output]))
            elif output in self._lights:
                levels = self.doing.record.levels[:, self._lights[output]]
                part = np.maximum(part, levels / FULL)
        return part

    def _moving(self, name: str) -> NDArray[np.float64]:
        widths = self.doing.servo_half_us(self._servos[name]).astype(np.int64)
        changed = np.flatnonzero(np.diff(widths) != 0) + 1
        busy = np.zeros(self.ticks + 1, np.int64)
        np.add.at(busy, changed, 1)
        np.add.at(busy, np.minimum(changed + MOVES_WITHIN_TICKS, self.ticks), -1)
        moving = np.cumsum(busy[:-1]) > 0
        return np.where(moving, 1.0, HOLDING.value)

    def _away(self, servo: int) -> NDArray[np.float64]:
        """How far a servo is told to be from its rest, of the farther end."""
        told = self.doing.servo_half_us(servo).astype(np.float64)
        rest = self.plan.servos[servo].rest_half_us
        low, high = self.plan.servos[servo].range_half_us
        return np.minimum(np.abs(told - rest) / max(rest - low, high - rest), 1.0)
