"""Compiles a sketch with the harness beside this file, and runs traces through it."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from gen.render.ship_view import pulses_max
from host_tools.record import Record, RungUnavailable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from gen.plan import Plan
    from host_tools.trace import Trace

HARNESS = Path(__file__).with_name("harness.cpp")

# The warnings that the chip's compiler is given, and no floating-point or aliasing surprises.
FLAGS = ("-std=c++11", "-O2", "-Wall", "-Wextra", "-Wconversion", "-Werror")

ARRIVAL = np.dtype([("tick", "<u4"), ("input", "<u2"), ("width", "<u2")])


READING = 0x8000
"""What is added to a sensor's index in the place of a channel."""


class NoCompiler(RungUnavailable):
    """This computer has no C++ compiler that could be found."""


def find_compiler() -> str:
    """The C++ compiler: $CXX, else c++, g++ or clang++ from the path. Raises NoCompiler."""
    for name in (os.environ.get("CXX"), "c++", "g++", "clang++"):
        if name and (found := shutil.which(name)):
            return found
    raise NoCompiler(
        "no C++ compiler for this computer was found (looked for $CXX, c++, g++ and clang++); "
        "on Debian: apt-get install g++"
    )


class LogicRung:
    """A sketch's logic as a program on this computer. Use it as a context manager: the program
    lives in a folder of its own that is removed at the end."""

    name = "logic"
    takes_forces = True

    def __init__(
        self, plan: Plan, sketch: Mapping[str, str], extra_flags: Sequence[str] = ()
    ) -> None:
        """`sketch` is what `gen.render.render` gave for `plan`. Raises NoCompiler, and
        subprocess.CalledProcessError with the compiler's words if the sketch does not compile."""
        compiler = find_compiler()
        self.plan = plan
        self._folder = tempfile.TemporaryDirectory(prefix="pinrail-logic-")
        folder = Path(self._folder.name)
        for name, text in sketch.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        self._program = folder / "run"
        main_file = folder / f"{plan.code}.ino"
        command = [
            compiler,
            *FLAGS,
            *extra_flags,
            f'-DSKETCH="{main_file}"',
            *(["-DKEEPS"] if plan.kept_bytes else []),
            f"-o{self._program}",
            str(HARNESS),
        ]
        try:
            subprocess.run(command, check=True, capture_output=True, text=True)
        except BaseException:
            self.close()
            raise

    def __enter__(self) -> LogicRung:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Removes the program."""
        self._folder.cleanup()

    def run(self, trace: Trace) -> Record:
        """Runs `trace` from power-up."""
        seen = as_a_board_takes_it(trace, pulses_max(self.plan))
        result = subprocess.run(
            [self._program],
            input=np.uint32(trace.ticks).tobytes() + self._kept(trace) + arrivals(seen).tobytes(),
            capture_output=True,
            check=True,
        )
        kept_bytes = self.plan.kept_bytes
        told = result.stdout[: len(result.stdout) - kept_bytes]
        ticks = np.frombuffer(
            told,
            dtype=[
                ("lines", "<u8"),
                ("digest", "<u4"),
                ("servos", "<u2", (len(self.plan.servos),)),
                ("levels", "u1", (len(self.plan.lights),)),
            ],
        )
        kept = result.stdout[len(told) :]
        levels = ticks["levels"]
        return Record(seen, ticks["lines"], ticks["servos"], levels, ticks["digest"], kept)

    def _kept(self, trace: Trace) -> bytes:
        """What is found at power-up, as the harness reads it: whether there is any, and what."""
        size = self.plan.kept_bytes
        if not size:
            return b""
        return b"\x01" + trace.kept if len(trace.kept) == size else bytes(1 + size)


def arrivals(trace: Trace) -> NDArray[np.void]:
    """A trace as the harness reads it: one ARRIVAL a pulse and one a reading, in order."""
    pulse_ticks, inputs, widths = trace.pulses
    ticks, sensors, readings = trace.felt
    out = np.empty(len(pulse_ticks) + len(ticks), dtype=ARRIVAL)
    out["tick"] = np.concatenate([pulse_ticks, ticks])
    out["input"] = np.concatenate([inputs, READING + sensors])
    out["width"] = np.concatenate([widths, readings])
    return out[np.argsort(out["tick"], kind="stable")]


def as_a_board_takes_it(trace: Trace, most_pulses: int) -> Trace:
    """The trace without the pulses that a board has no room for within one tick."""
    if np.bincount(trace.at).max(initial=0) * len(trace.channels) <= most_pulses:
        return trace
    rows, inputs = np.nonzero(trace.widths_half_us)
    at = trace.at[rows]
    place = np.arange(len(rows)) - np.searchsorted(at, at, side="left")
    surplus = place >= most_pulses
    if not surplus.any():
        return trace
    widths = trace.widths_half_us.copy()
    widths[rows[surplus], inputs[surplus]] = 0
    return replace(trace, widths_half_us=widths)
