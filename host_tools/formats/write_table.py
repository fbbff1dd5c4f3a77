"""Trace -> trace file."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from gen.plan import TICK_MS
from gen.units import us_text
from host_tools.formats.table import BAR, FIRST_LINE, LAST_LINE, UNCHANGED, WAVE, Driven
from host_tools.trace import NO_PULSE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from host_tools.trace import Trace

BLOCK_ROWS = 1 << 14
"""Rows that are turned into text at a time, so that a long trace does not fill the memory."""


def format_trace(trace: Trace, driven: Driven | None = None) -> Iterator[str]:
    """The file's text, in pieces; the rows of `driven` are those of `trace`.

    Raises ValueError when a name cannot stand in a table.
    """
    driven = driven or Driven.nothing(trace.rows)
    for what in (trace.ship, trace.plan_id, trace.source):
        if what != " ".join(what.split()):
            raise ValueError(f"{what!r} does not fit one line of the header")
    driven_names = (*driven.line_names, *driven.servo_names, *driven.light_names)
    for name in (*trace.channels, *trace.sensors, *driven_names):
        if name in ("", BAR, WAVE) or name != name.strip() or set(name) & set("\t\r\n"):
            raise ValueError(f"{name!r} cannot be the name of a column")

    names = ["tick", *trace.channels]
    if trace.sensors:
        names += [WAVE, *trace.sensors]
    if driven_names:
        names += [BAR, *driven.line_names, BAR, *driven.servo_names]
    if driven.light_names:
        names += [BAR, *driven.light_names]
    header = {
        "ship": trace.ship,
        "plan": trace.plan_id,
        "tick": f"{TICK_MS} ms",
        "ticks": trace.ticks,
        "source": trace.source,
        **({"kept": trace.kept.hex()} if trace.kept else {}),
    }
    yield f"{FIRST_LINE}\n"
    yield "".join(f"# {key}: {value}".rstrip() + "\n" for key, value in header.items())
    yield "\t".join(names) + "\n"

    texts = np.array([*map(us_text, range(UNCHANGED)), ""], dtype=object)
    texts[NO_PULSE] = ""
    states = np.full(UNCHANGED + 1, "", dtype=object)
    states[:256] = [*map(str, range(256))]
    readings = np.array([*map(str, range(UNCHANGED)), ""], dtype=object)
    for start in range(0, trace.rows, BLOCK_ROWS):
        rows = slice(start, start + BLOCK_ROWS)
        bar = np.full((len(trace.at[rows]), 1), "", dtype=object)
        parts = [texts[trace.widths_half_us[rows]]]
        if trace.sensors:
            parts += [bar, readings[trace.readings[rows]]]
        parts += [bar, states[driven.lines[rows]], bar, texts[driven.servos[rows]]]
        parts += [bar, states[driven.lights[rows]]]
        table = np.hstack(parts)
        yield "".join(
            f"{tick}\t" + "\t".join(row).rstrip("\t") + "\n" if any(row) else f"{tick}\n"
            for tick, row in zip(trace.at[rows].tolist(), table.tolist(), strict=True)
        )
    yield f"{LAST_LINE}\n"
