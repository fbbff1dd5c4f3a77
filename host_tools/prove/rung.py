"""The encoding as one more rung of the ladder: stepped with plain integers, every tick's outputs
and the digest of all that it remembers held against the model's."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from host_tools.prove.algebra import Whole
from host_tools.prove.encoding.ship import ShipEncoding
from host_tools.record import Record

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.prove.encoding.ship import ShipMemory
    from host_tools.trace import Trace


class ProofRung:
    """What proofs reason about, at work."""

    name = "proof"
    takes_forces = True

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.ship = ShipEncoding(Whole(), plan)

    def run(self, trace: Trace) -> Record:
        """Runs `trace` from power-up."""
        plan = self.plan
        lines = np.zeros(trace.ticks, np.uint64)
        rests = np.array([servo.rest_half_us for servo in plan.servos], np.uint16)
        servos = np.tile(rests, (trace.ticks, 1))  # one that nobody drives stays at its rest
        levels = np.zeros((trace.ticks, len(plan.lights)), np.uint8)
        digests = np.zeros(trace.ticks, np.uint32)
        for tick, memory in enumerate(self.ship.stepped(trace)):
            lines[tick] = self._drive(memory, servos[tick], levels[tick])
            digests[tick] = _digest(self._words(memory))
        return Record(trace, lines, servos, levels, digests)

    def _drive(
        self,
        memory: ShipMemory,
        servos: np.ndarray[tuple[int], np.dtype[np.uint16]],
        levels: np.ndarray[tuple[int], np.dtype[np.uint8]],
    ) -> int:
        """Fills in what one tick drives; returns its lines, a bit each."""
        lines = 0
        for encoding, mine in zip(self.ship.functions, memory.functions, strict=True):
            for line, is_on in encoding.lines_on(mine).items():
                lines |= bool(is_on) << line
            for servo in encoding.function.servos:
                servos[servo] = encoding.servo_half_us(mine)
            if encoding.function.lights:
                duties = encoding.levels(mine)
                for light, duty in zip(encoding.function.lights, duties, strict=True):
                    levels[light] = duty
        return lines

    def _words(self, memory: ShipMemory) -> list[int]:
        """Everything remembered, in the order in which the digest takes it."""
        ship = self.ship
        words: list[int] = []
        for channel, mine in zip(ship.channels, memory.channels, strict=True):
            words += channel.words(mine)
        if ship.sum_signal is not None and memory.sum_signal is not None:
            words += ship.sum_signal.words(memory.sum_signal)
        for control, mine in zip(ship.controls, memory.controls, strict=True):
            index = control.control.channel
            lost = bool(ship.channels[index].lost(memory.channels[index]))
            words += control.words(mine, lost)
        for sensor, mine in zip(ship.sensors, memory.sensors, strict=True):
            words += sensor.words(mine)
        for stage, mine in zip(ship.stages, memory.stages, strict=True):
            words += stage.words(mine)
        if ship.force is not None and memory.force is not None:
            words += ship.force.words(memory.force)
        for function, mine in zip(ship.functions, memory.functions, strict=True):
            words += function.words(mine)
        return words


def _digest(words: list[int]) -> int:
    """Two running 16-bit sums."""
    total = sums = 0
    for word in words:
        total += word
        sums += total
    return (sums & 0xFFFF) << 16 | total & 0xFFFF
