"""A way to where two ships differ, in the ship's own words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gen.behaviours.base import seconds
from gen.plan import DigitalSensor
from gen.response import FRAME_TICKS
from gen.units import us_text
from host_tools.compare.hands import NEW, OLD
from host_tools.compare.verdict import TO_THE_FRAME, TO_THE_TICK
from host_tools.states import Doing

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from gen.plan import Control
    from host_tools.compare.hands import Hands, Setting, Thumb
    from host_tools.compare.replay import Seen
    from host_tools.compare.verdict import Verdict

MEANT = (
    "Shortest: no way to move keys and sticks and to lose signals shows it in fewer ticks (5 ms)"
    " from power-up, by a receiver that says each channel, or nothing, once in 20 ms."
)


def steps(verdict: Verdict) -> list[str]:
    """What a hand does, and for how long: the last of it until the tick in which they differ."""
    assert verdict.replay is not None  # noqa: S101 - who calls has looked
    hands = verdict.replay.hands
    told, begun = [], 0
    for number, held in enumerate(verdict.way):
        last = number == len(verdict.way) - 1
        ticks = verdict.tick + 1 - begun if last else held.frames * FRAME_TICKS
        begun += held.frames * FRAME_TICKS
        if held.setting.power:
            told.append("switch the power off and on")
        else:
            told.append(f"{what_is_set(hands, held.setting)} for {seconds(max(ticks, 1))}")
    return told


def what_is_set(hands: Hands, setting: Setting) -> str:
    """Everything that is not at rest: "hold davit key down, deck key up"."""
    rest = hands.settings[0]
    said: list[str] = []
    for number, thumb in enumerate(hands.thumbs):
        width = setting.widths[number]
        lost = any(
            place is not None and _channel(hands, side, place[0]) in setting.lost
            for side, place in enumerate(thumb.places)
        )
        if width != rest.widths[number] and not lost:
            said.append(_thumb(hands, thumb, width))
    text = f"hold {', '.join(said)}" if said else ""
    lost_names = [
        hands.plans[side].channels[index].name
        for number in sorted(setting.lost)
        for side, index in [_named(hands.channels[number])]
    ]
    parts = [text] if text else []
    if lost_names:
        every = len(lost_names) == len(hands.channels)
        parts.append("no signal" if every else f"no signal on {', '.join(lost_names)}")
    parts += _felt(hands, setting)
    return ", ".join(parts) or "everything at rest"


def _named(pair: tuple[int | None, int | None]) -> tuple[int, int]:
    old, new = pair
    if old is not None:
        return OLD, old
    assert new is not None  # noqa: S101 - a channel is on one of both
    return NEW, new


def _channel(hands: Hands, side: int, index: int) -> int:
    return next(n for n, pair in enumerate(hands.channels) if pair[side] == index)


def _thumb(hands: Hands, thumb: Thumb, width: int) -> str:
    side, index = thumb.controls[0]
    control = hands.plans[side].controls[index]
    places = {_place(hands.plans[s].controls[i], width) for s, i in thumb.controls}
    if control.proportional or len(places) != 1 or None in places:
        return f"{control.name} at {us_text(width)} us"
    return f"{control.name} {places.pop()}"


def _place(control: Control, width: int) -> str | None:
    for band in control.positions:
        if band.low_half_us <= width <= band.high_half_us:
            return band.name
    return None


def _felt(hands: Hands, setting: Setting) -> Iterator[str]:
    for felt, now, still in zip(
        hands.felt, setting.readings, hands.settings[0].readings, strict=True
    ):
        if now == still:
            continue
        side = OLD if felt.sensors[OLD] is not None else NEW
        index = felt.sensors[side]
        assert index is not None  # noqa: S101 - a sensor is on one of both
        sensor = hands.plans[side].sensors[index]
        if isinstance(sensor, DigitalSensor):
            closed = bool(now[side]) != sensor.active_low
            yield f"{sensor.name} {'closed' if closed else 'open'}"
        else:
            yield f"{sensor.name} at {now[side] * sensor.full_scale_uv / 1024 / 1e6:.2f} V"


def ends(verdict: Verdict, parts: Sequence[Seen]) -> tuple[str, str]:
    """What the old and the new ship's function are in the tick in which they differ."""
    assert verdict.replay is not None and verdict.old is not None and verdict.new is not None  # noqa: PT018, S101 - who calls has looked
    part = [one for one in parts if one.begun <= verdict.tick][-1]
    at = verdict.tick - part.begun
    hands = verdict.replay.hands
    old, new = (
        Doing(plan, record).word(plan.functions[index], at)
        for plan, record, index in (
            (hands.plans[OLD], part.old, verdict.old),
            (hands.plans[NEW], part.new, verdict.new),
        )
    )
    return old, new


def how_short(verdict: Verdict) -> str:
    """How surely there is nothing shorter."""
    if verdict.shortest == TO_THE_TICK:
        return "the shortest, to the tick"
    if verdict.shortest == TO_THE_FRAME:
        return "the shortest, to a frame of 20 ms"
    return (
        f"nothing shorter was found; surely none is shorter than {seconds(verdict.certain_ticks)}"
    )
