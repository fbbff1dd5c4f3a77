"""What the firmware reaches, in exact cycles of the simulated chip, beside a beginner's sketch."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Momentary
from gen.boards import load_board
from gen.compile import ARDUINO_CORE, compile_sketch
from gen.load import load
from gen.render import render
from gen.render.wiring import SOFTWARE
from gen.resources import resource
from gen.toolchain import find_toolchain
from host_tools.firmware import FirmwareRung
from host_tools.firmware.chip import read_program, run_chip
from tests.benchmarks.everything import everything
from tests.benchmarks.in_turn import in_turn_figures
from tests.benchmarks.link_figures import link_figures
from tests.benchmarks.stimuli import CYCLES_A_US, FIRST_FRAME_CYCLES, KINDS, Stimulus
from tests.benchmarks.yardstick import PINS, yardstick

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from gen.boards import Board
    from gen.plan import Plan
    from host_tools.firmware.chip import ChipRun

CYCLES_A_TICK = 80_000
CYCLES_A_MS = 16_000
FRAME_TICKS = 4
MARGIN_US = 20

MOST_ERROR_US = {"stagger": 0.7, "coincident": 3.5, "near": 3.5}
BIG_CHIP_US = 0.7
"""Added for near edges on the ATmega2560: it has channels on up to three ports, and longer
addresses, so that the interrupt takes up to 57 cycles instead of 46."""
MOST_LATENCY_MS = 5.2
MOST_SOFTWARE_JITTER_US = 6
MOST_LOAD_PERCENT = 10
MOST_FLASH_BYTES = 14 * 1024
MOST_RAM_BYTES = 900

PULSE_IN = Path(__file__).with_name("pulse_in")


@dataclass(frozen=True)
class Figure:
    """One row of the table. `goal` is the most that `value` may be, None where there is none."""

    subject: str
    what: str
    value: float
    unit: str
    goal: float | None = None

    @property
    def met(self) -> bool:
        """Whether the goal is kept."""
        return self.goal is None or self.value <= self.goal


def ship_figures(plan: Plan, board: Board, frames: int = 1_000, subject: str = "") -> list[Figure]:
    """The figures of one ship on its board, each the worst under all stimuli but pulse error.
    `subject` is what it is called, unless by its own name."""
    rows: list[Figure] = []
    latency: list[NDArray[np.float64]] = []
    hardware, software, loads, stacks, wrong, missed = [0.0], [0.0], [0], [0], 0, 0

    def row(what: str, value: float, unit: str, goal: float | None = None) -> None:
        rows.append(Figure(subject or plan.ship, what, value, unit, goal))

    with FirmwareRung.of_sketch(plan, board, render(plan, board)) as rung:
        for kind in KINDS:
            stimulus, line, settle = _stimulus(plan, kind, frames)
            ticks = FIRST_FRAME_CYCLES // CYCLES_A_TICK + (frames + 3) * FRAME_TICKS
            run = rung.run_events(stimulus.events(), ticks)
            errors, lost = _errors_us(stimulus, run)
            most = MOST_ERROR_US[kind] + (
                BIG_CHIP_US if board.mcu == "atmega2560" and kind == "near" else 0
            )
            row(f"pulse error, {kind}: max", np.abs(errors).max(), "us", most)
            row(f"pulse error, {kind}: p99", float(np.percentile(np.abs(errors), 99)), "us")
            wrong += int((np.abs(errors) >= MARGIN_US).sum())
            missed += lost
            if line is not None:
                latency.append(_latency_ms(stimulus.deciding_ends(settle), run, line))
            for index, servo in enumerate(plan.servos):
                asked, made, _ = rung.servo_pulses(index, run)
                jitter = np.abs(made - asked).max(initial=0) / CYCLES_A_US
                (software if servo.unit == SOFTWARE else hardware).append(float(jitter))
            loads.append(int((run.ticks["done"] - run.ticks["sampled"]).max()))
            stacks.append(run.stack_bytes)
        built = rung.built
    row("pulses missed", missed, "", 0)
    row(f"wrong decisions at {MARGIN_US} us margin", wrong, "", 0)
    if latency:
        answers = np.concatenate(latency)
        row("deciding pulse to pin: median", float(np.median(answers)), "ms")
        row("deciding pulse to pin: max", answers.max(), "ms", MOST_LATENCY_MS)
    if len(hardware) > 1:
        row("hardware servo jitter (simulator's grain 0.44)", max(hardware), "us", 0.44)
    if len(software) > 1:
        row("software servo jitter", max(software), "us", MOST_SOFTWARE_JITTER_US)
    row("longest tick", max(loads), "cycles")
    row("longest tick, of 5 ms", 100 * max(loads) / CYCLES_A_TICK, "%", MOST_LOAD_PERCENT)
    if built is not None:
        row("flash", built.flash_bytes, "bytes", MOST_FLASH_BYTES)
        small = MOST_RAM_BYTES if board.name == "nano" else None
        row("RAM, variables and stack", built.ram_bytes + built.stack_bytes, "bytes", small)
        row("stack, bound", built.stack_bytes, "bytes")
        row("stack, seen", max(stacks), "bytes", built.stack_bytes)
    return rows


def pulse_in_figures(frames: int = 1_000) -> list[Figure]:
    """The same for a sketch that waits for each pulse in turn, with the Arduino core."""
    board = load_board("nano")
    inputs = PINS["nano"].channels
    rows: list[Figure] = []
    with tempfile.TemporaryDirectory() as name:
        toolchain = find_toolchain()
        built = compile_sketch(PULSE_IN, board, toolchain, Path(name), arduino_core=ARDUINO_CORE)
        program = read_program(built.elf)
        for kind in KINDS:
            stimulus = Stimulus(
                kind, [1500.0] * len(inputs), key=0, pressed_us=1900.0, frames=frames
            )
            run = run_chip(
                program,
                board,
                ticks=1 << 40,
                cycles=int(stimulus.falls.max()) + CYCLES_A_TICK,
                report=[("channel", "u1"), ("width_us", "<u2")],
                events=stimulus.events(),
                inputs=inputs,
                outputs=["D12"],
            )
            read = run.ticks[run.ticks["report"]["width_us"] > 0]
            channel = read["report"]["channel"].astype(np.int64)
            # Each reading is of the pulse that ended last before it.
            place = np.array(
                [
                    np.searchsorted(stimulus.falls[:, c], at) - 1
                    for c, at in zip(channel, read["sampled"].astype(np.int64), strict=True)
                ]
            )
            kept = place >= 0
            given = stimulus.widths[place[kept], channel[kept]] / CYCLES_A_US
            errors = np.abs(read["report"]["width_us"][kept] - given)
            rows.append(Figure("pulseIn", f"pulse error, {kind}: max", errors.max(), "us"))
            answers = _latency_ms(stimulus.deciding_ends(1), run, 0)
            rows.append(Figure("pulseIn", f"pulse to pin, {kind}: max", float(answers.max()), "ms"))
            share = kept.sum() / stimulus.widths.size
            rows.append(Figure("pulseIn", f"pulses seen, {kind}", 100 * share, "%"))
        rows.append(Figure("pulseIn", "flash", built.flash_bytes, "bytes"))
        rows.append(Figure("pulseIn", "RAM, variables", built.ram_bytes, "bytes"))
    return rows


def all_figures(frames: int = 1_000, link_parts: int = 1) -> list[Figure]:
    """Every starter on its board, a ship with everything in use on all boards, one with software
    servos, the link for `link_parts` times five minutes, and the beginner's sketch."""
    rows: list[Figure] = []
    for path in sorted((resource("templates") / "ships").glob("*.yaml")):
        loaded = load(path)
        plan = loaded.plan
        if plan.sum_signal is not None or any(one.sharing is not None for one in plan.channels):
            figures = in_turn_figures(plan, loaded.board)
            rows += [Figure(plan.ship, *figure) for figure in figures]
        else:
            rows += ship_figures(plan, loaded.board, frames)
    for board in PINS:
        loaded = everything(board)
        rows += ship_figures(loaded.plan, loaded.board, frames, f"everything, {board}")
    rows += ship_figures(yardstick("nano"), load_board("nano"), frames)
    rows += [Figure(*figure) for figure in link_figures(parts=link_parts)]
    return rows + pulse_in_figures(frames)


def _stimulus(plan: Plan, kind: str, frames: int) -> tuple[Stimulus, int | None, int]:
    """Pulses for this plan, the line that answers to them, and how many pulses its control needs to
    settle. A ship without a momentary function has its first key moved, and no line that answers
    to all of that."""
    function = next((one for one in plan.functions if isinstance(one, Momentary)), None)
    control, position = next(one for one in plan.controls if len(one.positions) > 1), 0
    line = None
    if function is not None:
        control, position = plan.controls[function.ask.control], function.ask.position
        line = function.drives
    steady = [1500.0] * len(plan.channels)
    for one in plan.controls:
        if not one.proportional:
            steady[one.channel] = _middle_us(one.positions[one.rest])
    pressed = _middle_us(control.positions[position])
    stimulus = Stimulus(kind, steady, key=control.channel, pressed_us=pressed, frames=frames)
    return stimulus, line, control.settle_pulses


def _middle_us(band: object) -> float:
    low, high = band.low_half_us, band.high_half_us  # type: ignore[attr-defined]  # a Position
    return float((low + high) / 4)


def _errors_us(stimulus: Stimulus, run: ChipRun) -> tuple[NDArray[np.float64], int]:
    """Seen minus given, and how many pulses were missed."""
    reports = run.ticks["report"]
    taken = np.arange(reports["pulses"].shape[1]) < reports["count"].astype(np.int64)[:, None]
    pulses = reports["pulses"][taken]
    errors: list[NDArray[np.float64]] = []
    lost = 0
    for channel in range(stimulus.widths.shape[1]):
        seen = pulses["width"][pulses["input"] == channel] / 2
        given = stimulus.widths[:, channel] / CYCLES_A_US
        lost += abs(len(given) - len(seen))
        if len(given) == len(seen):
            errors.append(seen - given)
    return np.concatenate([*errors, np.zeros(1)]), lost


def _latency_ms(deciding: NDArray[np.int64], run: ChipRun, line: int) -> NDArray[np.float64]:
    """From the end of each deciding pulse to the next edge of the line."""
    edges = run.edges["cycle"][run.edges["output"] == line].astype(np.int64)
    edges = edges[edges > FIRST_FRAME_CYCLES]
    place = np.searchsorted(edges, deciding)
    answered = place < len(edges)
    return np.asarray((edges[place[answered]] - deciding[answered]) / CYCLES_A_MS)
