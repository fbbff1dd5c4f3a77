"""Sum signals as published and as measured.

There is no standard; these are published measurements of three transmitters. Frames: eight channels
of 0.7 to 1.7 ms behind separators of 0.3 ms in 22.5 ms (45 frames a second); 22 ms with pulses of
400 us, +-100 % at 1100 and 1900 us, +-150 % at 900 and 2100 us; and 20 ms with pauses of 300 us. A
pause of 2700 us or more ends a frame, pulses from 700 to 2300 us are believed (the decoder of an
open autopilot). Frames that slipped, and frozen ones, come from real logs.
"""

from __future__ import annotations

import numpy as np
import pytest

from gen.load import load_text
from host_tools.model.streams import heard, streams_of
from host_tools.trace import Trace

SHIP = """\
ship: Whimbrel
board: nano
receiver:
  sum signal: {{pin: D8, channels: [{names}]}}
controls:
{controls}
outputs:
{outputs}
functions:
{functions}
"""
NAMES = "abcdefgh"
PLAN = load_text(
    SHIP.format(
        names=", ".join(f"channel {n}" for n in NAMES),
        controls="\n".join(f"  key {n}: {{from: channel {n}}}" for n in NAMES),
        outputs="\n".join(
            f"  relay {n}: D{i}" for n, i in zip(NAMES, (2, 3, 4, 5, 6, 7, 9, 10), strict=True)
        ),
        functions="\n".join(
            f"  lamp {n}: {{toggle: key {n} up, drives: relay {n}}}" for n in NAMES
        ),
    ).encode(),
    "whimbrel.yaml",
).plan


def heard_us(*rows: tuple[tuple[float, ...], float]) -> list[list[float]]:
    """What each channel hears of frames with these widths (us), each in a frame of so many ms."""
    halves: list[int] = []
    for widths, frame_ms in rows:
        halves += [round(2 * width) for width in widths]
        halves.append(round(2_000 * frame_ms) - sum(halves[-len(widths) :]))
    at = np.arange(len(halves), dtype=np.int64)
    trace = Trace(len(halves), ("sum signal",), at, np.array(halves, np.uint16)[:, None])
    assert [stream.channel for stream in streams_of(PLAN)] == list(range(8))
    return [(said.widths / 2).tolist() for said in heard(PLAN, trace)]


@pytest.mark.parametrize("frame_ms", [22.5, 22, 20])
@pytest.mark.parametrize("width", [1000, 1100, 1500, 1900, 2000, 2100])
def test_published_frames_are_read(frame_ms: float, width: int) -> None:
    """Eight channels at 2100 us leave a pause of 3.2 ms in the shortest frame."""
    one_apart = tuple(width - step for step in range(8))
    assert heard_us((one_apart, frame_ms)) == [[float(w)] for w in one_apart]
    assert frame_ms * 1000 - 8 * width >= 2700


def test_eight_channels_at_their_middle_leave_the_pause_that_was_measured() -> None:
    """7 channels: 11.5 ms at 0 %, 14.3 and 8.7 ms at -100 and +100 %, 15.7 and 7.3 ms at 150 %."""
    for width, pause in ((1500, 11.5), (1100, 14.3), (1900, 8.7), (900, 15.7), (2100, 7.3)):
        assert 22 - 7 * width / 1000 == pytest.approx(pause)


GOOD = (1506.0, 1501.0, 992.0, 1503.0, 992.0, 991.0, 1504.0, 1503.0)
SLIPPED = (1503.0, 992.0, 992.0, 1503.0, 1504.0)
FROZEN = (755.0, 754.0, 548.0, 750.0, 793.0, 556.0, 1009.0, 754.0)


def test_a_frame_that_lost_pulses_is_dropped_whole() -> None:
    said = heard_us((GOOD, 20), (SLIPPED, 20), (GOOD, 20))
    assert said == [[width, width] for width in GOOD]


def test_frozen_frames_are_no_sign_of_life() -> None:
    assert heard_us((GOOD, 20), (FROZEN, 20), (FROZEN, 20)) == [[width] for width in GOOD]
