"""The whole tick of a plan, as `host_tools/model/engine.py` has it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from gen.plan import NO_FORCE, NOTHING_THERE
from host_tools.prove.encoding.behaviours import function_encoding
from host_tools.prove.encoding.channel import ChannelEncoding, SumEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.force import ForceEncoding
from host_tools.prove.encoding.function import Seen
from host_tools.prove.encoding.sensors import StageEncoding, sensor_encoding

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from gen.plan import Plan
    from host_tools.prove.algebra import Number, Truth
    from host_tools.prove.encoding.function import FunctionEncoding
    from host_tools.prove.encoding.part import Memory
    from host_tools.trace import Trace


@dataclass
class ShipMemory:
    """What a whole ship remembers, part by part."""

    channels: list[Memory]
    controls: list[Memory]
    sensors: list[Memory]
    stages: list[Memory]
    functions: list[Memory]
    sum_signal: Memory | None = None
    readings: list[Number] = field(default_factory=list)
    force: Memory | None = None
    forced: Number = NO_FORCE


class ShipEncoding:
    """All parts of a plan."""

    def __init__(self, a: Any, plan: Plan) -> None:
        self.a = a
        self.plan = plan
        self.channels = [ChannelEncoding(a, one) for one in plan.channels]
        self.controls = [ControlEncoding(a, one) for one in plan.controls]
        self.sensors = [sensor_encoding(a, one) for one in plan.sensors]
        self.stages = [StageEncoding(a, one) for one in plan.stages]
        self.functions = [function_encoding(a, one, plan) for one in plan.functions]
        self.sum_signal = SumEncoding(a, plan.sum_signal) if plan.sum_signal is not None else None
        self.force = ForceEncoding(a, plan) if plan.bench is not None else None

    def start(self) -> ShipMemory:
        """What it remembers at power-up, with nothing kept."""
        return ShipMemory(
            channels=[one.start() for one in self.channels],
            controls=[one.start() for one in self.controls],
            sensors=[one.start() for one in self.sensors],
            stages=[one.start() for one in self.stages],
            functions=[one.start() for one in self.functions],
            sum_signal=self.sum_signal.start() if self.sum_signal is not None else None,
            readings=[0] * len(self.sensors),
            force=self.force.start() if self.force is not None else None,
        )

    def left(self, kept: bytes) -> ShipMemory:
        """The same as it was left, where anything is known of that."""
        memory = self.start()
        for index, mine in self.plan.kept_parts(kept):
            self.functions[index].recall(memory.functions[index], mine)
        return memory

    def stepped(self, trace: Trace) -> Iterator[ShipMemory]:
        """What it remembers after each tick of a trace, from power-up: one memory, that changes."""
        memory = self.left(trace.kept)
        for pulses, felt in trace.tick_by_tick():
            for sensor, reading in felt:
                if sensor < len(self.sensors):
                    memory.readings[sensor] = reading
                else:
                    memory.forced = reading
            self.tick(memory, pulses)
            yield memory

    def hear(self, memory: ShipMemory, source: int, width: Number) -> None:
        """One pulse of an input of the plan."""
        one = self.plan.inputs[source]
        if not one.is_sum:
            self._hear_channel(memory, one.channels[0], width, True)
        elif self.sum_signal is not None and memory.sum_signal is not None:
            complete, widths = self.sum_signal.hear(memory.sum_signal, width)
            for place, channel in enumerate(self.sum_signal.described.channels):
                if channel != NOTHING_THERE:
                    self._hear_channel(memory, channel, widths[place], complete)

    def _hear_channel(self, memory: ShipMemory, index: int, width: Number, comes: Truth) -> None:
        channel = self.channels[index]

        def listen(me: Memory) -> Any:
            return channel.hear(me, width)

        heard, widths = channel.branch(comes, memory.channels[index], listen, (False, {}))
        for number, control in enumerate(self.plan.controls):
            if control.channel == index and widths:
                self.controls[number].hear(memory.controls[number], heard, widths[control.slot])

    def tick(self, memory: ShipMemory, pulses: Iterable[tuple[int, Number]]) -> None:
        """One tick with these pulses (input, width), and what `memory` was told is read and
        forced."""
        for channel, mine in zip(self.channels, memory.channels, strict=True):
            channel.grow(mine)
        for source, width in pulses:
            self.hear(memory, source, width)
        lost = {i: one.lost(memory.channels[i]) for i, one in enumerate(self.channels)}
        for number, planned in enumerate(self.plan.controls):
            alive = self.channels[planned.channel].alive(memory.channels[planned.channel])
            self.controls[number].judge(memory.controls[number], alive, lost[planned.channel])
        for sensor, mine, reading in zip(
            self.sensors, memory.sensors, memory.readings, strict=True
        ):
            sensor.feel(mine, reading)
        values = {index: mine.value for index, mine in enumerate(memory.sensors)}
        for stage, mine in zip(self.stages, memory.stages, strict=True):
            stage.look(mine, values[stage.stage.below.sensor])
        if self.force is not None and memory.force is not None:
            self.force.look(memory.force, *self.force.read(memory.forced))
        see = Seen(
            controls=dict(enumerate(memory.controls)),
            lost=lost,
            sensors=values,
            stages={index: mine.low for index, mine in enumerate(memory.stages)},
            states={i: f.state(memory.functions[i]) for i, f in enumerate(self.functions)},
            asked={},
            force=memory.force,
        )
        answer(dict(enumerate(self.functions)), dict(enumerate(memory.functions)), see)


def answer(
    functions: Mapping[int, FunctionEncoding[Any]], memory: Mapping[int, Memory], see: Seen
) -> None:
    """What all functions make of what they see: first those whose asking stops others are asked,
    then every one is run, in the plan's order."""
    for index, function in functions.items():
        if function.gate.both_is_stop:
            function.ask(memory[index], index, see)
    for index, function in functions.items():
        function.run(memory[index], index, see)
