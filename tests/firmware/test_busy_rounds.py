"""A whole round of a full shared channel, and a whole frame, come between the edges of servos that
the processor switches: none is late because of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from gen.boards import load_board
from gen.load import load_text
from gen.render import render
from host_tools.agree import compare
from host_tools.firmware import FirmwareRung
from host_tools.transmitter import Transmitter

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.firmware

NANO = load_board("nano")
SERVO_PINS = ("D4", "D5", "D6", "D7", "D8", "D11")
ROUND_TICKS = 17 * 4
KEYS = range(len(SERVO_PINS) + 1, 17)


def ship() -> str:
    """Sixteen slots: a knob for each servo, the others keys for relays. The sum signal's sticks are
    mixed into the servos."""
    channels = [f"channel {number}" for number in range(1, 9)]
    lines = [
        "ship: Full Box",
        "board: nano",
        "receiver:",
        f"  sum signal: {{pin: D3, channels: [{', '.join(channels)}], gap: 2700 us}}",
        "  channels: {box: {pin: D2, shares: 16 slots, marker: below 950 us}}",
        "controls:",
        *(f"  knob {n}: {{from: box, slot: {n}, kind: knob}}" for n, _ in enumerate(SERVO_PINS, 1)),
        *(f"  key {n}: {{from: box, slot: {n}}}" for n in KEYS),
        *(f"  stick {n}: {{from: channel {n}, kind: stick}}" for n in range(1, 7)),
        "  horn key: {from: channel 7}",
        "  bell key: {from: channel 8}",
        "outputs:",
        "  shelf: {kind: shift register, data: A0, clock: A1, latch: A2, blank: A3, outputs: 16}",
        *(
            f"  servo {n}: {{pin: {pin}, kind: servo, range: 500..1500 us}}"
            for n, pin in enumerate(SERVO_PINS, 1)
        ),
        "functions:",
        *(
            f"  arm {n}: {{follow: knob {n}, mix: {{stick {n}: 50 %}}, drives: servo {n}}}"
            for n, _ in enumerate(SERVO_PINS, 1)
        ),
        *(f"  lamp {n}: {{momentary: key {n} up, drives: shelf {n - 6}}}" for n in KEYS),
        "  horn: {momentary: horn key up, drives: shelf 11}",
        "  bell: {momentary: bell key up, drives: shelf 12}",
        "",
    ]
    return "\n".join(lines)


@pytest.fixture(scope="module")
def rung() -> Iterator[FirmwareRung]:
    plan = load_text(ship().encode(), "full-box.yaml").plan
    with FirmwareRung.of_sketch(plan, NANO, render(plan, NANO)) as opened:
        yield opened


def test_no_servos_edge_is_late_for_a_round(rung: FirmwareRung) -> None:
    """Rounds end about a millisecond into a tick, and the pulses of the servos, half a millisecond
    long and longer from round to round, end just then."""
    plan = rung.plan
    named = {control.name: index for index, control in enumerate(plan.controls)}
    thumb = Transmitter(plan)
    for step in range(120):
        for n, _ in enumerate(SERVO_PINS, 1):
            thumb.move(named[f"knob {n}"], 2000 + 8 * step)
        for n in KEYS:
            thumb.put(named[f"key {n}"], step % 3)
        thumb.run(ROUND_TICKS)
    assert compare(plan, rung, thumb.trace("rounds and edges")) is None
