"""What the ship file's reader lets through, as the subjects' numbers: read from the keys
themselves, so that a limit that moves is proved anew."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from gen.behaviours import sequence, step
from gen.behaviours.dimmer import FLICKERS
from gen.behaviours.follow import LEAST_REACH_HALF_US, FollowKeys
from gen.behaviours.winch import Duty
from gen.plan import HALF_US_PER_US, MAX_TICKS, TICK_US
from gen.read.keys import keys_of
from gen.read.kinds import LONG, MOST_SLOTS
from gen.resolve.channels import PLACES_MOST
from gen.rhythms.pattern import MOST_PHASES
from gen.sensors import DigitalItem
from gen.ship import LOST_AFTER, VALID, ControlItem, ServoItem

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST_DUTY_TICKS = 3600 * 1000 * 1000 // TICK_US


def _kind(record: Any, key: str) -> Any:
    return keys_of(record)[key].kind


def limits() -> Mapping[str, tuple[str, int]]:
    """Each with its C++ type."""
    half = HALF_US_PER_US
    servo, ends = _kind(ServoItem, "range"), _kind(ControlItem, "ends")
    duties = [Duty.of(percent, MOST_DUTY_TICKS) for percent in range(1, 100)]
    return {
        "WIDTH_LEAST": ("uint16_t", VALID.least_us * half),
        "WIDTH_MOST": ("uint16_t", VALID.most_us * half),
        "LOST_AFTER_MOST": ("uint16_t", LOST_AFTER.most_ticks),
        "HYSTERESIS_MOST": ("uint16_t", _kind(ControlItem, "hysteresis").most_us * half),
        "DEAD_BAND_MOST": ("uint16_t", _kind(ControlItem, "dead band").most_us * half),
        "SETTLE_MOST": ("uint8_t", _kind(ControlItem, "settle").most),
        "POSITIONS_MOST": ("uint8_t", _kind(ControlItem, "positions").most),
        "KNOB_REACH_LEAST": ("uint16_t", ends.narrowest_us * half),
        "DEAD_MOST": ("uint16_t", _kind(FollowKeys, "dead band").most_us * half),
        "REACH_LEAST": ("uint16_t", LEAST_REACH_HALF_US),
        "SERVO_LEAST": ("uint16_t", servo.least_us * half),
        "SERVO_MOST": ("uint16_t", servo.most_us * half),
        "RUN_MOST": ("uint16_t", MAX_TICKS),
        "TICKS_MOST": ("uint32_t", MAX_TICKS),
        "LONG_TICKS_MOST": ("uint32_t", LONG.most_ticks),
        "STALL_MOST": ("uint16_t", MAX_TICKS),
        "DUTY_LIMIT_MOST": ("uint32_t", max(duty.limit for duty in duties)),
        "PHASES_MOST": ("uint16_t", MOST_PHASES),
        "STATES_MOST": ("uint8_t", step.MOST_STATES),
        "OUTPUTS_MOST": ("uint8_t", max(step.MOST_OUTPUTS, sequence.MOST_OUTPUTS)),
        "LEGS_MOST": ("uint8_t", sequence.MOST_LEGS),
        "WAITS_MOST": ("uint8_t", sequence.MOST_WAITS),
        "DEBOUNCE_MOST": ("uint8_t", _kind(DigitalItem, "debounce").most_ticks),
        "FLICKER_LEAST_MOST": ("uint8_t", max(one.least_ticks for one in FLICKERS.values())),
        "FLICKER_SPREAD_MOST": ("uint8_t", max(one.spread_ticks for one in FLICKERS.values())),
        "SLOTS_MOST": ("uint8_t", max(MOST_SLOTS, PLACES_MOST)),
    }


def header(others: Mapping[str, int]) -> str:
    """limits.h; `others` are limits in place of the reader's."""
    lines = [
        f"constexpr {kind} {name} = {others.get(name, value)};"
        for name, (kind, value) in limits().items()
    ]
    return "\n".join(["#pragma once", "#include <stdint.h>", *lines, ""])
