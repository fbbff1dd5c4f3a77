"""Conventions of servo pulses.

1000 to 2000 us from end to end with 1500 us in the middle: manuals of the board makers' servo
library, `writeMicroseconds`, which also say that makers vary and that many servos answer to 700 to
2300 us; the same library's ends of 544 and 2400 us: `attach`. 1000 us as 0 % and 2000 us as 100 %
of a channel: MAVLink common message set, RC_CHANNELS. A period of 20 ms: common practice, no
source.
"""

from __future__ import annotations

import pytest

from gen.plan import HALF_US_PER_US, TICK_US
from gen.units import us_text
from tests.gen.small import problems, small

LIBRARY_ENDS_US = (544, 2400)
PERIOD_US = 20_000


def test_a_servo_without_numbers_has_the_usual_ends_and_middle() -> None:
    servo = small().plan.servos[0]
    assert [us_text(width) for width in (*servo.range_half_us, servo.rest_half_us)] == [
        *("1000", "2000", "1500")
    ]


def test_a_channel_without_numbers_believes_what_servos_answer_to() -> None:
    channel = small().plan.channels[0]
    assert [us_text(width) for width in channel.valid_half_us] == ["700", "2300"]


def test_a_knob_without_numbers_goes_from_0_to_100_percent() -> None:
    knob = small().plan.controls[1]
    assert [us_text(width) for width in knob.ends_half_us] == ["1000", "2000"]


def test_the_librarys_ends_can_be_written_and_nothing_is_lost() -> None:
    low, high = LIBRARY_ENDS_US
    servo = small(("kind: servo", f"kind: servo, range: {low}..{high} us")).plan.servos[0]
    assert servo.range_half_us == (low * HALF_US_PER_US, high * HALF_US_PER_US)


@pytest.mark.parametrize("ends", ["400..2000 us", "1000..2600 us"])
def test_what_no_servo_answers_to_is_refused(ends: str) -> None:
    found = problems(("kind: servo", f"kind: servo, range: {ends}"))
    assert [problem.code for problem in found] == ["out-of-range"]


def test_a_signal_is_not_lost_between_two_frames() -> None:
    """The shortest `lost after` that can be written lets two frames go by."""
    channel = small(("keys: D2", "keys: {pin: D2, lost after: 50 ms}")).plan.channels[0]
    assert channel.lost_after_ticks * TICK_US > 2 * PERIOD_US
    found = problems(("keys: D2", "keys: {pin: D2, lost after: 45 ms}"))
    assert [problem.code for problem in found] == ["out-of-range"]
