"""Runs traces on the firmware: real pulses in, lines and servos from the pins."""

from __future__ import annotations

from contextlib import ExitStack
from functools import cached_property, lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, TypedDict

import numpy as np

from gen.compile import compile_sketch
from gen.render.ship_view import pulses_max
from gen.render.wiring import SOFTWARE
from gen.toolchain import find_toolchain
from host_tools.firmware import lights
from host_tools.firmware.chip import ChipRun, RunningChip, read_program, run_chip
from host_tools.firmware.pulses import (
    CYCLES_A_HALF_US,
    CYCLES_A_TICK,
    as_seen,
    first_misread,
    lay_out,
)
from host_tools.firmware.sensors import SensorPins, as_felt, first_misfelt, in_order
from host_tools.kept import eeprom_with, recalled
from host_tools.record import Record, RungFault, RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from gen.boards import Board
    from gen.compile import Built
    from gen.plan import Light, Line, Plan, Servo
    from gen.toolchain import Toolchain
    from host_tools.trace import Trace

START_CYCLES_MOST = 20 * CYCLES_A_TICK
"""A chip that has not begun its first tick after 100 ms never will."""

HARDWARE_TOLERANCE_CYCLES = 7
"""Less than one count of the timer. The chip's own error is none; the simulator places a timer's
edges between two instructions, which may be up to 4 cycles and an interrupt's entry late."""

SOFTWARE_TOLERANCE_CYCLES = 96
"""6 us: either edge can wait for the interrupts of two of the receiver's edges."""


HOST_SENDS_CYCLES = 64
"""And for that of a byte from the host, if there are any."""


class Pins(TypedDict):
    """Pins of a board that are driven."""

    inputs: Sequence[str]
    contacts: Sequence[str]
    analogue: Sequence[str]
    chains: Sequence[Sequence[str]]


class FirmwareFault(RungFault):
    """The board did something that no board may do: it hung, was reset, misread a pulse, or made a
    servo pulse that nobody had asked for."""


class FirmwareRung:
    """A plan's sketch on a simulated chip. A context manager: it may have compiled the sketch."""

    name = "firmware"
    takes_forces = False  # on a board forces come over the link

    def __init__(self, plan: Plan, board: Board, elf: Path) -> None:
        """`elf` is what gen.compile made of the plan's sketch. Raises KeyError if it is none."""
        self.plan = plan
        self.board = board
        self.built: Built | None = None
        self.elf = elf
        self._program = read_program(elf)
        self._sensors = SensorPins(plan)
        self._until_closed = ExitStack()

    @classmethod
    def of_sketch(
        cls,
        plan: Plan,
        board: Board,
        sketch: Mapping[str, str],
        *,
        toolchain: Toolchain | None = None,
        arduino_core: Path | None = None,
        extra_flags: Sequence[str] = (),
    ) -> FirmwareRung:
        """Compiles what `gen.render.render` gave into a folder of its own. Raises MissingTool and
        CompileError."""
        with ExitStack() as until_closed:
            folder = Path(until_closed.enter_context(TemporaryDirectory(prefix="pinrail-chip-")))
            for name, text in sketch.items():
                path = folder / "sketch" / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_text(text, encoding="utf-8")
            built = compile_sketch(
                folder / "sketch",
                board,
                toolchain or find_toolchain(),
                folder / "out",
                arduino_core=arduino_core,
                extra_flags=extra_flags,
            )
            rung = cls(plan, board, built.elf)
            rung.built = built
            rung._until_closed = until_closed.pop_all()
            return rung

    def __enter__(self) -> FirmwareRung:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Removes the program if it was compiled here."""
        self._until_closed.close()

    def run(self, trace: Trace) -> Record:
        """Runs `trace` from power-up. Raises FirmwareFault and MissingTool."""
        return self.observe(trace)[0]

    def observe(
        self, trace: Trace, heard: NDArray[np.void] | None = None
    ) -> tuple[Record, ChipRun]:
        """The same, with the chip's own story beside it. `heard` (chip.BYTE) comes by the link."""
        if trace.has_forces:
            raise RungUnavailable("the simulated chip's pins cannot force anything")
        trace = trace.without_forces()
        eeprom = eeprom_with(self.plan, self.board, trace.kept)
        first_tick = self.first_tick_with(eeprom)
        sum_signal = self.plan.sum_signal
        driven = lay_out(
            trace,
            first_tick,
            has_sum=sum_signal is not None,
            falls=sum_signal is not None and sum_signal.falling,
        )
        felt = self._sensors.events(trace, first_tick)
        run = self.run_events(in_order(driven.events(), felt), trace.ticks, eeprom, heard)
        self._check_ended(run, trace.ticks)
        reports = run.ticks["report"]
        seen = self.seen(run, trace)
        misread = first_misread(driven, reports, run.ticks["sampled"].astype(np.int64))
        misread = misread or first_misfelt(trace, reports["readings"])
        if misread is not None:
            raise FirmwareFault(misread.text, misread.tick)
        for index, servo in enumerate(self.plan.servos):
            self._check_servo(index, servo, run, host_sends=heard is not None and len(heard) > 0)
        for index, light in enumerate(self.plan.lights):
            self._check_light(index, light, run)
        servos = np.ascontiguousarray(reports["servos"][:, : len(self.plan.servos)])
        levels = np.ascontiguousarray(reports["levels"][:, : len(self.plan.lights)])
        kept = recalled(self.plan, self.board, run.eeprom)
        digests = reports["digest"].copy()
        return Record(seen, self.lines(run), servos, levels, digests, kept), run

    def seen(self, run: ChipRun, like: Trace) -> Trace:
        """The pulses, readings and forces of all ticks as the chip's logic had them; inputs and
        sensors are those of `like`."""
        reports = run.ticks["report"]
        readings, names = reports["readings"], like.sensors
        if self.plan.bench is not None and reports["force"].any():
            names = self.plan.readings
            readings = np.column_stack([readings[:, : len(self.plan.sensors)], reports["force"]])
        return as_felt(readings, as_seen(reports, like), names)

    def run_events(
        self,
        events: NDArray[np.void],
        ticks: int,
        eeprom: bytes = b"",
        heard: NDArray[np.void] | None = None,
        *,
        jumper: bool = False,
        faults: NDArray[np.void] | None = None,
        torn: str = "half",
    ) -> ChipRun:
        """Drives the receiver's pins with `events` (chip.EVENT, input i = Plan.inputs[i]), and lets
        the link hear `heard` (chip.BYTE). `jumper`: that of the bench is fitted. What befalls the
        chip in the meantime are `faults` (chip.FAULT); `torn` is as in chip.run_chip."""
        return run_chip(
            self._program,
            self.board,
            ticks=ticks,
            cycles=START_CYCLES_MOST + (ticks + 1) * CYCLES_A_TICK,
            report=report_layout(self.plan),
            events=events,
            heard=heard,
            grounded=self._grounded(jumper),
            **self.pins(),
            outputs=self.watched_pins,
            eeprom=eeprom,
            faults=faults,
            torn=torn,
        )

    @property
    def watched_pins(self) -> list[str]:
        """What tells what lines, servos and lights do, in the order of ChipRun.edges."""
        return [
            *(watched(line) for line in self.plan.lines),
            *(one.pin if one.unit == SOFTWARE else one.unit for one in self.plan.servos),
            *(one.pin if one.unit == SOFTWARE else one.unit for one in self.plan.lights),
        ]

    def power_up(self, eeprom: bytes = b"", *, jumper: bool = False) -> RunningChip:
        """A chip that goes on step by step, for whoever speaks with it over the link."""
        return RunningChip(
            self._program,
            self.board,
            **self.pins(),
            eeprom=eeprom,
            grounded=self._grounded(jumper),
        )

    def _grounded(self, jumper: bool) -> list[str]:
        """The pin of the bench's jumper, if it is fitted."""
        bench = self.plan.bench
        return [bench.jumper] if jumper and bench is not None and bench.jumper else []

    def pins(self) -> Pins:
        """The pins that are driven, as chip.run_chip wants them."""
        return {
            "inputs": [one.pin for one in self.plan.inputs],
            "contacts": self._sensors.contacts,
            "analogue": self._sensors.voltages,
            "chains": [(one.data, one.clock, one.latch, one.blank) for one in self.plan.registers],
        }

    @cached_property
    def first_tick(self) -> int:
        """The cycle, from power-up, at which the first tick samples its pulses."""
        return self.first_tick_with(b"")

    @lru_cache(maxsize=64)  # noqa: B019 - a rung lives as long as what it has measured
    def first_tick_with(self, eeprom: bytes) -> int:
        """The same with something in the EEPROM, which takes its time to be read."""
        run = run_chip(
            self._program,
            self.board,
            ticks=1,
            cycles=START_CYCLES_MOST,
            report=report_layout(self.plan),
            eeprom=eeprom,
        )
        self._check_ended(run, 1)
        return int(run.ticks["sampled"][0])

    def _check_ended(self, run: ChipRun, ticks: int) -> None:
        if run.resets:
            after = int(np.searchsorted(run.ticks["done"], run.resets[0]))
            raise FirmwareFault(f"the watchdog reset the chip after {after} ticks", after)
        done = len(run.ticks)
        if run.ended == "crash":
            raise FirmwareFault(f"the chip crashed after {done} of {ticks} ticks", done)
        if run.ended != "ticks" and ticks:
            raise FirmwareFault(
                f"the chip had done {done} of {ticks} ticks when its time was over", done
            )

    def lines(self, run: ChipRun) -> NDArray[np.uint64]:
        """Which lines are on, by their pins: driven, and at the level that is on."""
        on_is_low = sum(1 << i for i, line in enumerate(self.plan.lines) if line.active_low)
        all_lines = (1 << len(self.plan.lines)) - 1
        on = (run.ticks["levels"] ^ np.uint64(on_is_low)) & run.ticks["drivens"]
        return np.asarray(on & np.uint64(all_lines))

    def _check_servo(self, index: int, servo: Servo, run: ChipRun, *, host_sends: bool) -> None:
        """Each pulse on the servo's pin has a width that the firmware asked for."""
        asked, made, ticks = self.servo_pulses(index, run)
        most = HARDWARE_TOLERANCE_CYCLES
        if servo.unit == SOFTWARE:
            most = SOFTWARE_TOLERANCE_CYCLES + (HOST_SENDS_CYCLES if host_sends else 0)
        if (wrong := np.flatnonzero(np.abs(made - asked) > most)).size:
            first = int(wrong[0])
            raise FirmwareFault(
                f"servo {servo.name}: pulse {first} was {made[first] / 16:g} us, "
                f"the firmware had asked for {asked[first] / 16:g} us",
                max(0, int(ticks[first])),
            )

    def light_errors(self, index: int, run: ChipRun) -> NDArray[np.int64]:
        """How far a light is from what the firmware asked for, in cycles, and in which ticks."""
        output = len(self.plan.lines) + len(self.plan.servos) + index
        if self.plan.lights[index].unit == SOFTWARE:
            return lights.software_errors(run, output, index)
        return lights.hardware_errors(run, output, index)

    def _check_light(self, index: int, light: Light, run: ChipRun) -> None:
        """The light's pin is on for as long as the firmware asked for."""
        errors, ticks = self.light_errors(index, run)
        in_software = light.unit == SOFTWARE
        most = lights.SOFTWARE_TOLERANCE_CYCLES if in_software else lights.HARDWARE_TOLERANCE_CYCLES
        if (wrong := np.flatnonzero(np.abs(errors) > most)).size:
            first = int(wrong[0])
            raise FirmwareFault(
                f"light {light.name}: {errors[first] / 16:g} us off what was asked for",
                int(ticks[first]),
            )

    def servo_pulses(
        self, index: int, run: ChipRun
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        """The widths, in cycles, that were asked for and those that came out of the pin, and the
        ticks that had asked for them (-1: start-up).

        A timer takes over the width of the last tick before its turn; a software servo that of the
        tick behind which its pulse begins.
        """
        servo = self.plan.servos[index]
        rises, made = pulses_on(run, len(self.plan.lines) + index)
        mark = "done" if servo.unit == SOFTWARE else "driven"
        tick = np.searchsorted(run.ticks[mark], rises) - 1
        asked = run.ticks["report"]["servos"][:, index].astype(np.int64)
        asked = np.where(tick < 0, servo.rest_half_us, asked[np.maximum(tick, 0)])
        return asked * CYCLES_A_HALF_US, made, tick


def watched(line: Line) -> str:
    """What of the chip tells whether a line is on."""
    return line.pin if line.shifted is None else "Q{}.{}".format(*line.shifted)


def report_layout(plan: Plan) -> np.dtype[Any]:
    """`struct Report` of templates/sketch/logic/report.h, as the chip's compiler lays it out."""
    lines = max(1, (len(plan.lines) + 7) // 8)
    servos = max(1, len(plan.servos))
    light_slots = max(1, len(plan.lights))
    pulse = [("input", "u1"), ("width", "<u2")]
    return np.dtype(
        [
            ("tick", "<u2"),
            ("digest", "<u4"),
            ("lines", "u1", (lines,)),
            ("servos", "<u2", (servos,)),
            ("levels", "u1", (light_slots,)),
            ("readings", "<u2", (max(1, len(plan.sensors)),)),
            *([("force", "<u2")] if plan.bench is not None else []),
            ("count", "u1"),
            ("pulses", pulse, (pulses_max(plan),)),
            *([("force_is_barred", "u1")] if plan.bench is not None else []),
        ]
    )


def pulses_on(run: ChipRun, output: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """The pulses that one output made: when each rose, and how long it was, in cycles."""
    edges = run.edges[run.edges["output"] == output]
    high = (edges["level"] == 1) & (edges["driven"] == 1)
    cycles = edges["cycle"].astype(np.int64)
    starts = np.flatnonzero(high[:-1] & ~high[1:]) if len(edges) else np.empty(0, np.int64)
    return cycles[starts], cycles[starts + 1] - cycles[starts]
