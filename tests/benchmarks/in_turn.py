"""What the firmware reaches where channels come in turn: by a sum signal, or shared."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.behaviours import Momentary
from gen.plan import HALF_US_PER_US, TICK_MS
from gen.render import render
from gen.response import FRAME_MS, press_ticks, release_ticks
from host_tools.firmware import FirmwareRung
from host_tools.firmware.pulses import TOO_LONG, lay_out
from host_tools.transmitter import Transmitter

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from gen.boards import Board
    from gen.plan import Plan
    from host_tools.trace import Trace

CYCLES_A_TICK = 80_000


def in_turn_figures(
    plan: Plan, board: Board, presses: int = 60
) -> Iterator[tuple[str, float, str, float | None]]:
    """(what, value, unit, the most that it may be) of one ship whose first momentary function is
    pressed at ever other moments of a cycle."""
    function = next(one for one in plan.functions if isinstance(one, Momentary))
    control = plan.controls[function.ask.control]
    sharing = plan.channels[control.channel].sharing
    trace, pressed, released = _worked(plan, function, presses)
    with FirmwareRung.of_sketch(plan, board, render(plan, board)) as rung:
        record, run = rung.observe(trace)
        built = rung.built
        worst_us = _worst_error_us(plan, trace, record.trace, rung.first_tick)
    on = (record.lines >> np.uint64(function.drives) & np.uint64(1)).astype(np.int8)
    changes = np.flatnonzero(np.diff(on, prepend=0))
    for name, moves, most in (
        ("press", pressed, press_ticks(plan, control)),
        ("release", released, release_ticks(plan, control)),
    ):
        took_ms = (changes[np.searchsorted(changes, moves)] - moves) * TICK_MS
        yield f"{name} to pin: max", float(took_ms.max()), "ms", most * TICK_MS
        if sharing is not None:
            cycles = took_ms / (sharing.cycle_frames * FRAME_MS)
            yield f"{name} to pin: median", float(np.median(cycles)), "rounds", None
            yield f"{name} to pin: max", float(cycles.max()), "rounds", None
    yield "pulse error: max", worst_us, "us", 3.5
    load = int((run.ticks["done"] - run.ticks["sampled"]).max())
    yield "longest tick", load, "cycles", None
    yield "longest tick, of 5 ms", 100 * load / CYCLES_A_TICK, "%", 10
    if built is not None:
        yield "flash", built.flash_bytes, "bytes", 14 * 1024
        yield "RAM, variables and stack", built.ram_bytes + built.stack_bytes, "bytes", 900


def _worked(
    plan: Plan, function: Momentary, presses: int
) -> tuple[Trace, NDArray[np.int64], NDArray[np.int64]]:
    """A trace, and the ticks in which the thumb pressed and let go."""
    index = function.ask.control
    control = plan.controls[index]
    lasts = press_ticks(plan, control)
    sender = Transmitter(plan)
    sender.run(2 * lasts)
    pressed, released = [], []
    for number in range(presses):
        sender.run(number % 37)  # so that all moments of a cycle have their turn
        pressed.append(sender.now)
        sender.put(index, function.ask.position)
        sender.run(lasts + 20)
        released.append(sender.now)
        sender.put(index, control.rest)
        sender.run(lasts + 20)
    return sender.trace("presses"), np.array(pressed), np.array(released)


def _worst_error_us(plan: Plan, given: Trace, seen: Trace, first_tick: int) -> float:
    """The most by which a pulse, or what lies between two edges of a sum signal, was misread."""
    driven = lay_out(given, first_tick, has_sum=plan.sum_signal is not None)
    worst = 0
    for number in range(len(plan.inputs)):
        column = seen.widths_half_us[:, number].astype(np.int64)
        got = column[column > 0]
        meant = driven.width_half_us[driven.input == number][: len(got)]
        measured = (got != TOO_LONG) & (meant < 10_000)
        worst = max(worst, int(np.abs(got - meant)[measured].max(initial=0)))
    return worst / HALF_US_PER_US
