"""The model's tick.

Every tick means what the sketch's `ship::tick` means (channels, controls, functions in the plan's
order, outputs), but only what can change is looked at: channels with pulses, functions whose
controls changed or that the tick before left changed. Ticks in which nothing can change cost
nothing. The digest is kept up to date rather than recomputed: it is linear in the fields that it
sums, and an age that grows by one a tick makes it an arithmetic progression.
"""

from __future__ import annotations

from bisect import insort
from collections import deque
from dataclasses import dataclass, field
from itertools import repeat
from typing import TYPE_CHECKING, Any

import numpy as np

from gen.plan import NOTHING_THERE, OPEN, Felt
from host_tools.model.behaviours import MODELS
from host_tools.model.force import NOBODY, ForceState
from host_tools.model.gate import GateModel
from host_tools.model.receiver import (
    BAD,
    PRESET,
    ChannelState,
    ControlState,
    control_state,
)
from host_tools.model.sensors import StageState, sensor_state
from host_tools.model.shared import COMPLETE, NOTHING, SharingState, SumState
from host_tools.model.streams import streams_of
from host_tools.model.thin import thinned
from host_tools.record import Record

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan, StateOf
    from host_tools.model.behaviours.base import FunctionModel
    from host_tools.model.thin import Pulses
    from host_tools.trace import Trace

NEVER = 2**62
"""A tick that does not come."""

BLOCK_ROWS = 1 << 16
"""Rows of a trace that are unpacked at a time, so that a long one does not fill the memory."""


class Model:
    """The top rung of the conformance ladder."""

    name = "model"
    takes_forces = True

    def __init__(self, plan: Plan) -> None:
        self.plan = plan

    def run(self, trace: Trace, *, digests: bool = True) -> Record:
        """Runs `trace` from power-up. Without digests, pulses that can change nothing are left
        out first and a long replay is many times faster; the outputs are the same."""
        run = Run(self.plan, trace, digests=digests)
        pulses = _pulses(trace) if digests else thinned(self.plan, trace)
        for ticks, sources, widths, lost_at in pulses:
            run.hear_all(ticks, sources, widths, lost_at)
        run.finish(trace.ticks)
        return run.record(trace)


def _pulses(trace: Trace) -> Iterator[Pulses]:
    """Every pulse of a trace; when its channel will be lost is not known beforehand."""
    for start in range(0, trace.rows, BLOCK_ROWS):
        widths = trace.widths_half_us[start : start + BLOCK_ROWS]
        rows, inputs = np.nonzero(widths)
        ticks = trace.at[start : start + BLOCK_ROWS][rows]
        pulses = widths[rows, inputs].tolist()
        yield ticks.tolist(), inputs.tolist(), pulses, repeat(0, len(pulses))


@dataclass
class _Changes:
    """What the run left behind, one entry for each tick that was looked at.

    The digest's sums at tick t are `sums + slopes * t`, from `at` until the next entry.
    """

    at: list[int] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    sums: list[tuple[int, int, int, int]] = field(default_factory=list)
    servos_at: list[int] = field(default_factory=list)
    servos: list[list[int]] = field(default_factory=list)
    levels_at: list[int] = field(default_factory=list)
    levels: list[list[int]] = field(default_factory=list)


class Run:
    """One run from power-up."""

    def __init__(self, plan: Plan, trace: Trace, *, digests: bool) -> None:
        self.plan = plan
        self.digests = digests
        self.channels = [ChannelState(channel) for channel in plan.channels]
        self.controls = [
            control_state(control, self.channels[control.channel]) for control in plan.controls
        ]
        for state, control in zip(self.controls, plan.controls, strict=True):
            self.channels[control.channel].controls.append(state)
        self.functions: list[FunctionModel[Any]] = [
            MODELS[type(function)](function, plan, self.controls) for function in plan.functions
        ]
        for index, function in enumerate(plan.functions):
            for control_index in function.controls:
                self.controls[control_index].functions.append(index)
        self.sensors = [sensor_state(sensor) for sensor in plan.sensors]
        self.unsteady = set(range(len(plan.sensors)))
        self.stages = [StageState(stage, self.sensors) for stage in plan.stages]
        self.counting = set(range(len(plan.stages)))
        for index, function in enumerate(plan.functions):
            if function.gate.stage is not None:
                self.stages[function.gate.stage].functions.append(index)
        self.force = ForceState(plan) if plan.bench is not None else None
        self.forcing = self.force is not None
        ticks, sensors, readings = trace.felt
        self.felt = deque(zip(ticks.tolist(), sensors.tolist(), readings.tolist(), strict=True))
        self.conditions = [function.conditions for function in plan.functions]
        for index, conditions in enumerate(self.conditions):
            for sensor in sorted({one.sensor for one in conditions if isinstance(one, Felt)}):
                self.sensors[sensor].functions.append(index)
        self.gates = [
            GateModel(function, self.functions, self.controls, self.stages)
            if function.gate != OPEN
            else None
            for function in plan.functions
        ]
        self.watchers: list[list[int]] = [[] for _ in plan.functions]
        for index, function in enumerate(plan.functions):
            for seen in sorted(function.watched):
                self.watchers[seen].append(index)
        self.asked_first = [
            index for index, function in enumerate(plan.functions) if function.gate.both_is_stop
        ]
        self._recall(trace.kept)
        self.sum_signal = SumState(plan.sum_signal) if plan.sum_signal is not None else None
        self.own = [NOTHING_THERE if one.is_sum else one.channels[0] for one in plan.inputs]
        self.streams = [
            (stream.channel, [self.controls[index] for index in stream.controls])
            for stream in streams_of(plan)
        ]
        self.hear = self._hear_input if digests else self._hear_stream
        self._weigh()
        self.lines = 0
        self.line_masks = [sum(1 << line for line in function.lines) for function in plan.functions]
        self.servos = [servo.rest_half_us for servo in plan.servos]
        self.levels = [0] * len(plan.lights)
        self.dials = [bool(function.servos or function.lights) for function in plan.functions]
        self.turned_servos = self.turned_lights = False
        self.awake = set(range(len(plan.functions)))
        self.now = 0
        self.heard: list[ControlState] = []
        self.next_loss = NEVER
        self.changes = _Changes()

    def _recall(self, kept: bytes) -> None:
        """As it was left, if anything is known of that."""
        for index, mine in self.plan.kept_parts(kept):
            self.functions[index].recall(mine)

    # The digest: sum of all fields, and sum of all running sums. A field that is followed by
    # n - 1 others is in n of the running sums: that is its weight.

    def _weigh(self) -> None:
        parts: list[Sequence[int]] = [
            *(state.fields() for state in self.channels),
            self.sum_signal.fields() if self.sum_signal is not None else (),
            *(control.fields() for control in self.controls),
            *(sensor.fields() for sensor in self.sensors),
            *(stage.fields() for stage in self.stages),
            self.force.fields() if self.force is not None else (),
            *(self._fields_of(index) for index in range(len(self.functions))),
        ]
        left = sum(len(fields) for fields in parts)
        self.sum = 0
        self.sum_of_sums = 0
        self.ageing = 0
        self.ageing_weight = 0
        weights = []
        for fields in parts:
            weights.append(left)
            self._count(left, fields)
            left -= len(fields)
        channels, controls = len(self.channels), len(self.controls)
        self.channel_weights = weights[:channels]
        self.sum_weight = weights[channels]
        self.control_weights = {
            id(control): weight
            for control, weight in zip(self.controls, weights[channels + 1 :], strict=False)
        }
        sensors = len(self.sensors)
        self.sensor_weights = weights[channels + 1 + controls :]
        self.sensor_fields = [sensor.fields() for sensor in self.sensors]
        self.stage_weights = weights[channels + 1 + controls + sensors :]
        self.stage_fields = [stage.fields() for stage in self.stages]
        before = channels + 1 + controls + sensors + len(self.stages)
        self.force_weight = weights[before]
        self.function_weights = weights[before + 1 :]
        self.control_fields = {id(control): control.fields() for control in self.controls}
        self.function_fields = [self._fields_of(index) for index in range(len(self.functions))]

    def _fields_of(self, index: int) -> tuple[int, ...]:
        gate = self.gates[index]
        fields = self.functions[index].fields()
        return fields if gate is None else (*fields, *gate.fields())

    def _count(self, weight: int, fields: Sequence[int], sign: int = 1) -> None:
        for value in fields:
            self.sum += sign * value
            self.sum_of_sums += sign * value * weight
            weight -= 1

    def _recount(self, control: ControlState) -> None:
        weight = self.control_weights[id(control)]
        self._count(weight, self.control_fields[id(control)], -1)
        fields = self.control_fields[id(control)] = control.fields()
        self._count(weight, fields)

    # The tick

    def hear_all(
        self,
        ticks: Sequence[int],
        sources: Sequence[int],
        widths: Sequence[int],
        lost_at: Iterable[int],
    ) -> None:
        """Takes pulses in order and runs every tick before the last one's. `sources` are inputs
        or, of a run without digests, streams."""
        hear = self.hear
        for at, source, width, until in zip(ticks, sources, widths, lost_at, strict=True):
            if at != self.now:
                self._tick(self.now)
                self._quiet(self.now + 1, at)
                self.now = at
            hear(source, width, until)

    def finish(self, ticks: int) -> None:
        """Runs to the end of a trace of so many ticks."""
        if self.now < ticks:
            self._tick(self.now)
            self._quiet(self.now + 1, ticks)

    def step(
        self, now: int, pulses: Iterable[tuple[int, int]], readings: Iterable[tuple[int, int]]
    ) -> None:
        """Runs one tick, which follows the one before, and remembers nothing of how it went."""
        self.now = now
        for source, width in pulses:
            self._hear_input(source, width, 0)
        self.felt.extend((now, sensor, reading) for sensor, reading in readings)
        self._tick(now)
        self.changes = _Changes()

    def digest(self, now: int) -> int:
        """The digest of the tick that was run last."""
        low = (self.sum + self.ageing * now) & 0xFFFF
        high = (self.sum_of_sums + self.ageing_weight * now) & 0xFFFF
        return high << 16 | low

    def _quiet(self, now: int, until: int) -> None:
        """Runs the ticks from `now` to before `until`, in which no pulse comes."""
        while now < until:
            if not (self.awake or self.unsteady or self.counting or self.forcing):
                now = max(now, min(self.next_loss, self.felt[0][0] if self.felt else NEVER))
                if now >= until:
                    break
            self._tick(now)
            now += 1

    def _hear_input(self, source: int, width: int, _: int) -> None:
        index, frame = self.own[source], self.sum_signal
        if index != NOTHING_THERE or frame is None:
            self._hear_channel(index, width)
            return
        self._count(self.sum_weight, frame.fields(), -1)
        complete = frame.completes(width)
        self._count(self.sum_weight, frame.fields())
        if complete:
            for place, channel in enumerate(frame.channels):
                if channel != NOTHING_THERE:
                    self._hear_channel(channel, frame.widths[place])

    def _hear_channel(self, index: int, width: int) -> None:
        channel = self.channels[index]
        verdict = channel.verdicts[width]
        if verdict == BAD:
            if channel.bad_pulses < 0xFFFF:
                channel.bad_pulses += 1
                self._count(self.channel_weights[index] - 1, (1,))
        elif verdict == PRESET:
            pass
        elif channel.sharing is not None:
            self._hear_shared(index, channel, channel.sharing, width)
        else:
            self._stay_alive(index, channel, 0)
            for control in channel.controls:
                if control.hear(width):
                    self.heard.append(control)

    def _hear_shared(
        self, index: int, channel: ChannelState, sharing: SharingState, width: int
    ) -> None:
        weight = self.channel_weights[index] - 2
        self._count(weight, sharing.fields(), -1)
        says = sharing.take(width)
        self._count(weight, sharing.fields())
        if says == NOTHING:
            return
        self._stay_alive(index, channel, 0)
        if says == COMPLETE:
            for control in channel.controls:
                if control.hear(sharing.widths[control.slot]):
                    self.heard.append(control)

    def _hear_stream(self, source: int, width: int, lost_at: int) -> None:
        index, controls = self.streams[source]
        self._stay_alive(index, self.channels[index], lost_at)
        for control in controls:
            if control.hear(width):
                self.heard.append(control)

    def _stay_alive(self, index: int, channel: ChannelState, lost_at: int) -> None:
        """A sign of life; `lost_at` is when there will have been too long none (0: not known)."""
        now = self.now
        weight = self.channel_weights[index]
        if not channel.alive:
            channel.wake()
            self._count(weight, (channel.still_age,), -1)
            self._count(weight, (now,), -1)
            self.ageing += 1
            self.ageing_weight += weight
            self.heard.extend(channel.controls)
        else:
            self._count(weight, (now - channel.heard_at,), -1)
        channel.heard_at = now
        channel.lost_at = lost_at or now + channel.lost_after
        self.next_loss = min(self.next_loss, channel.lost_at)

    def _tick(self, now: int) -> None:
        if now >= self.next_loss:
            self._judge_losses(now)
        for control in self.heard:
            if control.position == control.rest and control.channel.alive:
                control.armed = True
            self._recount(control)
            self.awake.update(control.functions)
        self.heard.clear()
        while self.felt and self.felt[0][0] <= now:
            _, index, reading = self.felt.popleft()
            self._read(index, reading)
        if self.unsteady:
            self._feel()
        if self.counting:
            self._look_at_stages()
        if self.force is not None and self.forcing:
            self._look_at_force(self.force)
        if self.awake:
            self._run_functions(now)
        if self.force is not None:
            self._see_what_bars(self.force)
        changes = self.changes
        changes.at.append(now)
        changes.lines.append(self.lines)
        changes.sums.append((self.sum, self.ageing, self.sum_of_sums, self.ageing_weight))

    def _read(self, index: int, reading: int) -> None:
        """Takes what stands in one of `Plan.readings` from now on."""
        if index < len(self.sensors):
            self.sensors[index].reading = reading
            self.unsteady.add(index)
        elif self.force is not None:
            self.force.reading = reading
            self.forcing = True

    def _feel(self) -> None:
        for index in sorted(self.unsteady):
            sensor = self.sensors[index]
            before = sensor.value
            sensor.feel()
            if sensor.value != before:
                self.awake.update(sensor.functions)
                self.counting.update(range(len(self.stages)))
            fields = sensor.fields()
            if fields == self.sensor_fields[index] and sensor.value == before:
                self.unsteady.discard(index)
                continue
            weight = self.sensor_weights[index]
            self._count(weight, self.sensor_fields[index], -1)
            self._count(weight, fields)
            self.sensor_fields[index] = fields

    def _look_at_stages(self) -> None:
        for index in sorted(self.counting):
            stage = self.stages[index]
            was_low = stage.low
            stage.look()
            if stage.low != was_low:
                self.awake.update(stage.functions)
            fields = stage.fields()
            if fields == self.stage_fields[index]:
                self.counting.discard(index)
                continue
            weight = self.stage_weights[index]
            self._count(weight, self.stage_fields[index], -1)
            self._count(weight, fields)
            self.stage_fields[index] = fields

    def _look_at_force(self, force: ForceState) -> None:
        before, was = force.fields(), force.function
        force.look()
        fields = force.fields()
        if fields == before:
            self.forcing = False
            return
        self._count(self.force_weight, before, -1)
        self._count(self.force_weight, fields)
        for index in {was, force.function} - {NOBODY}:
            function = self.functions[index]
            function.forced = force.state if index == force.function else None
            function.force_begins = force.begins
            self.awake.add(index)

    def _see_what_bars(self, force: ForceState) -> None:
        barred = force.state != 0 and self.functions[force.function].barred
        if barred != force.barred:
            self._count(self.force_weight, force.fields(), -1)
            force.barred = barred
            self._count(self.force_weight, force.fields())

    def _judge_losses(self, now: int) -> None:
        self.next_loss = NEVER
        for channel, weight in zip(self.channels, self.channel_weights, strict=True):
            if not channel.alive:
                continue
            if channel.lost_at > now:
                self.next_loss = min(self.next_loss, channel.lost_at)
                continue
            channel.lose()
            self._count(weight, (-channel.heard_at,), -1)
            self._count(weight, (channel.still_age,))
            self.ageing -= 1
            self.ageing_weight -= weight
            for control in channel.controls:
                control.forget()
                self._recount(control)
                self.awake.update(control.functions)

    def _run_functions(self, now: int) -> None:
        still_awake: set[int] = set()
        self._ask_those_that_stop_others()
        queue = sorted(self.awake)
        for index in queue:  # grows while it is worked through, always ahead of where we are
            function = self.functions[index]
            watchers = self.watchers[index]
            before = function.state() if watchers else 0
            self._run_function(index)
            if watchers and function.state() != before:
                for watcher in watchers:
                    if watcher < index or watcher in self.asked_first:
                        still_awake.add(watcher)
                    if watcher > index and watcher not in queue:
                        insort(queue, watcher)
                        if watcher in self.asked_first:  # it slept: it asks for what it did
                            self.functions[watcher].ask()
            fields = self._fields_of(index)
            if fields != self.function_fields[index]:
                if self.digests:
                    weight = self.function_weights[index]
                    self._count(weight, self.function_fields[index], -1)
                    self._count(weight, fields)
                self.function_fields[index] = fields
                still_awake.add(index)
            if self.line_masks[index]:
                self.lines = self.lines & ~self.line_masks[index] | function.lines_on()
            if self.dials[index]:
                self._turn(index)
        self.awake = still_awake
        if self.turned_servos:
            self.turned_servos = False
            self.changes.servos_at.append(now)
            self.changes.servos.append(list(self.servos))
        if self.turned_lights:
            self.turned_lights = False
            self.changes.levels_at.append(now)
            self.changes.levels.append(list(self.levels))

    def _turn(self, index: int) -> None:
        """Servos and lights of one function."""
        function, planned = self.functions[index], self.plan.functions[index]
        for servo in planned.servos:
            width = function.servo_half_us()
            if width != self.servos[servo]:
                self.servos[servo] = width
                self.turned_servos = True
        if planned.lights:
            for light, duty in zip(planned.lights, function.levels(), strict=True):
                if duty != self.levels[light]:
                    self.levels[light] = duty
                    self.turned_lights = True

    def _ask_those_that_stop_others(self) -> None:
        """Asks functions whose asking stops others; if one of them is awake, all are."""
        if self.asked_first and not self.awake.isdisjoint(self.asked_first):
            self.awake.update(self.asked_first)
            for index in self.asked_first:
                self._tell(index)
                self.functions[index].ask()

    def _run_function(self, index: int) -> None:
        function, gate = self.functions[index], self.gates[index]
        if gate is not None and gate.gate.both_is_stop:
            function.run_asked(gate.barred(function))
            return
        self._tell(index)
        if gate is None:
            function.run()
        else:
            function.run(gate.barred(function))

    def _tell(self, index: int) -> None:
        """Tells a function which of its conditions are so, a bit each."""
        conditions = self.conditions[index]
        if conditions:
            so = 0
            for bit, one in enumerate(conditions):
                if self._holds(one):
                    so |= 1 << bit
            self.functions[index].so = so

    def _holds(self, one: Felt | StateOf) -> bool:
        if isinstance(one, Felt):
            return self.sensors[one.sensor].felt(one.low, one.high)
        return self.functions[one.function].state() in one.states

    def record(self, trace: Trace) -> Record:
        """What has been run, tick by tick."""
        changes = self.changes
        at = np.array(changes.at, dtype=np.int64)
        spans = np.diff(at, append=trace.ticks)
        lines = np.repeat(np.array(changes.lines, dtype=np.uint64), spans)
        rests = [servo.rest_half_us for servo in self.plan.servos]
        servos = np.repeat(
            np.array([rests, *changes.servos], dtype=np.uint16),
            np.diff([0, *changes.servos_at, trace.ticks]),
            axis=0,
        )
        levels = np.repeat(
            np.array([[0] * len(self.plan.lights), *changes.levels], dtype=np.uint8),
            np.diff([0, *changes.levels_at, trace.ticks]),
            axis=0,
        )
        digests = self._digests(spans, trace.ticks) if self.digests else None
        return Record(trace, lines, servos, levels, digests, self.kept())

    def kept(self) -> bytes:
        """What would outlive the power now."""
        return b"".join(
            # Nothing comes back because of a force; but where a winch is, it is.
            function.kept() if function.forced is None or plan.moves else bytes(plan.kept_bytes)
            for plan, function in zip(self.plan.functions, self.functions, strict=True)
        )

    def _digests(self, spans: NDArray[np.int64], ticks: int) -> NDArray[np.uint32]:
        sums = np.array(self.changes.sums, dtype=np.int64).reshape(-1, 4)
        total, ageing, total_of_sums, ageing_weight = (
            np.repeat(column, spans) for column in sums.T
        )
        now = np.arange(ticks, dtype=np.int64)
        low = (total + ageing * now) & 0xFFFF
        high = (total_of_sums + ageing_weight * now) & 0xFFFF
        return (high << 16 | low).astype(np.uint32)
