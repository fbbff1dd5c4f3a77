"""IEC 61131-3: edges and timers mean what the standard's function blocks mean.

Source: IEC 61131-3:2013, 6.6.3.5.3 (edge detection: R_TRIG) and 6.6.3.5.5 (timers: TP, TON, TOF),
clause numbers from memory. The blocks are written below as the standard's figures have them, one
call a tick, and are held against what the functions of a ship do with drawn key movements.

R_TRIG: Q is true for the one call in which CLK changes from false to true.
TP: a rising IN starts a pulse of PT, which runs out whatever IN does meanwhile and is not started
again while it runs.
TON: Q becomes true when IN has been true for PT, and false with IN.
TOF: Q becomes true with IN, and false when IN has been false for PT.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from gen.behaviours import Auto, Loss, Momentary, Pulse, Toggle
from gen.plan import Felt
from host_tools.model import Model
from host_tools.trace import Trace
from tests.host_tools.bench_ship import (
    CENTRE,
    FRAME_TICKS,
    KEY_UP,
    LEVEL,
    LOST_AFTER_TICKS,
    SETTLE_PULSES,
    UP,
    plan_with,
    spans,
    worked,
)

TICK_MS = 5


@dataclass
class RTrig:
    """R_TRIG: the standard's own body is Q := CLK AND NOT M; M := CLK."""

    m: bool = True  # a CLK that is true at the first call is no edge

    def __call__(self, clk: bool) -> bool:
        q = clk and not self.m
        self.m = clk
        return q


@dataclass
class TP:
    """TP with a time in ms, called once each tick."""

    pt_ms: int
    elapsed_ms: int = -1
    rising: RTrig | None = None

    def __call__(self, in_: bool) -> bool:
        self.rising = self.rising or RTrig()
        edge = self.rising(in_)
        if self.elapsed_ms >= 0:
            self.elapsed_ms += TICK_MS
            if self.elapsed_ms >= self.pt_ms:
                self.elapsed_ms = -1
        if self.elapsed_ms < 0 and edge:
            self.elapsed_ms = 0
        return self.elapsed_ms >= 0


@dataclass
class TON:
    """TON with a time in ms, called once each tick."""

    pt_ms: int
    elapsed_ms: int = -1

    def __call__(self, in_: bool) -> bool:
        if not in_:
            self.elapsed_ms = -1
            return False
        self.elapsed_ms = 0 if self.elapsed_ms < 0 else self.elapsed_ms + TICK_MS
        return self.elapsed_ms >= self.pt_ms


@dataclass
class TOF:
    """TOF with a time in ms, called once each tick."""

    pt_ms: int
    elapsed_ms: int = -1
    q: bool = False

    def __call__(self, in_: bool) -> bool:
        if in_:
            self.q, self.elapsed_ms = True, -1
        elif self.q:
            self.elapsed_ms = 0 if self.elapsed_ms < 0 else self.elapsed_ms + TICK_MS
            self.q = self.elapsed_ms < self.pt_ms
        return self.q


MOVES = st.lists(
    st.tuples(st.integers(3, 60).map(lambda frames: frames * FRAME_TICKS), st.booleans()),
    min_size=1,
    max_size=12,
)


def keyed(
    moves: list[tuple[int, bool]], function: Pulse | Toggle | Momentary
) -> tuple[list[bool], list[bool]]:
    """What the key is believed to be, and the function's output, for each tick."""
    held = Momentary(name="held", code="held", on_loss=Loss.OFF, ask=KEY_UP, drives=2)
    steps = [(100, [CENTRE]), *((ticks, [UP if up else CENTRE]) for ticks, up in moves)]
    record = worked(plan_with(held, function), *steps)
    bits = [(record.lines >> np.uint64(line) & np.uint64(1)).astype(bool) for line in (2, 3)]
    return bits[0].tolist(), bits[1].tolist()


@settings(max_examples=60, deadline=None)
@given(MOVES, st.integers(1, 300))
def test_a_pulse_is_a_tp(moves: list[tuple[int, bool]], ticks: int) -> None:
    function = Pulse(
        name="horn", code="horn", on_loss=Loss.OFF, ask=KEY_UP, drives=3, duration_ticks=ticks
    )
    key, output = keyed(moves, function)
    block = TP(pt_ms=ticks * TICK_MS)
    assert output == [block(level) for level in key]


@settings(max_examples=60, deadline=None)
@given(MOVES)
def test_a_toggle_changes_on_r_trig(moves: list[tuple[int, bool]]) -> None:
    function = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=3)
    key, output = keyed(moves, function)
    block = RTrig()
    expected, on = [], False
    for level in key:
        on ^= block(level)
        expected.append(on)
    assert output == expected


CHANGES = st.lists(st.tuples(st.integers(1, 200), st.booleans()), min_size=1, max_size=12)


def felt_by(
    changes: list[tuple[int, bool]], wait: int, run_on: int, longest: int
) -> tuple[list[bool], list[bool]]:
    """Whether the level stands high, and what an auto makes of it, for each tick."""
    pump = Auto(
        name="pump",
        code="pump",
        on_loss=Loss.KEEP,
        when=Felt(LEVEL, 500, 1023),
        wait_ticks=wait,
        run_on_ticks=run_on,
        longest_ticks=longest,
        by_hand=None,
        stop=None,
        drives=2,
    )
    high = [level for ticks, level in changes for _ in range(ticks)]
    felt = [(tick, LEVEL, 500 if level else 499) for tick, level in enumerate(high)]
    record = worked(plan_with(pump), (len(high), [CENTRE]), felt=felt)
    return high, (record.lines >> np.uint64(2) & np.uint64(1)).astype(bool).tolist()


@settings(max_examples=60, deadline=None)
@given(CHANGES, st.integers(0, 100), st.integers(0, 100))
def test_an_auto_is_a_ton_followed_by_a_tof(
    changes: list[tuple[int, bool]], wait: int, run_on: int
) -> None:
    high, output = felt_by(changes, wait, run_on, longest=0)
    on, off = TON(wait * TICK_MS), TOF(run_on * TICK_MS)
    assert output == [off(on(level)) for level in high]


@settings(max_examples=60, deadline=None)
@given(CHANGES, st.integers(1, 100))
def test_the_longest_run_ends_as_a_ton_of_its_own(
    changes: list[tuple[int, bool]], longest: int
) -> None:
    high, output = felt_by(changes, 0, 0, longest)
    block = TON(longest * TICK_MS)
    assert output == [not block(level) and level for level in high]


def test_settle_is_a_ton_in_pulses() -> None:
    """A position is believed when it has been there for `settle` pulses: TON, counted in frames."""
    held = Momentary(name="held", code="held", on_loss=Loss.OFF, ask=KEY_UP, drives=2)
    record = worked(plan_with(held), (100, [CENTRE]), (200, [UP]), (100, [CENTRE]))
    delay = (SETTLE_PULSES - 1) * FRAME_TICKS
    assert spans(record, 2) == [(100 + delay, 200)]


def test_loss_of_signal_is_a_tof() -> None:
    """A channel is believed for `lost after` behind its last pulse: TOF with IN = a pulse."""
    lamp = Toggle(name="lamp", code="lamp", on_loss=Loss.ON, ask=KEY_UP, drives=2)
    plan = plan_with(lamp)
    at = np.array([0, 4, 8, 8 + LOST_AFTER_TICKS, 12 + LOST_AFTER_TICKS])
    widths = np.full((len(at), len(plan.channels)), CENTRE, dtype=np.uint16)
    trace = Trace(400, tuple(c.name for c in plan.channels), at, widths)
    # A gap of just the time is borne; the next, which has no end, is not.
    assert spans(Model(plan).run(trace), 2) == [
        (12 + 2 * LOST_AFTER_TICKS, 400 - 12 - 2 * LOST_AFTER_TICKS)
    ]
