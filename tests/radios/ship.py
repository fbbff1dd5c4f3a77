"""A ship around learned sections, and how it reads the radio that they were learned from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from gen.load import load_text
from gen.plan import NO_POSITION, ON_ITS_OWN
from host_tools.learn.text import sections
from host_tools.model.receiver import ChannelState, control_state
from host_tools.model.streams import streams_of
from host_tools.model.thin import thinned

if TYPE_CHECKING:
    from gen.plan import Plan, Position
    from host_tools.learn.learned import Learned
    from host_tools.trace import Trace
    from tests.radios.put_out import Played
    from tests.radios.radio import Lever

PINS = ("D2", "D3", "D4", "D5", "D8", "D9")
TICK_S = 0.005
NOISE_SD = 6
MOST_LAMPS = 64
HEAD = "ship: Learned\nboard: nano\n\n"


def ship_text(learned: Learned) -> str:
    """A ship file with these sections, and a lamp for each position of each key and switch in which
    it does not rest. Sticks and knobs are left away: they would want more pins than there are."""
    names = [one.name for one in learned.channels]
    made = sections(learned, dict(zip(names, PINS, strict=False)))
    switches = [one for one in made.controls if "positions" in one.keys and "ends" not in one.keys]
    used = {entry.keys["from"] for entry in switches}
    made = replace(
        made,
        channels=tuple(one for one in made.channels if one.name in used),
        controls=tuple(switches),
    )
    places = {one.name: one.bands for one in learned.controls}
    asks = [
        f"{entry.name} {name}"
        for entry in switches
        for bands in [places[entry.name]]
        if bands is not None
        for name, _, _ in bands.positions
        if name != bands.rest
    ][:MOST_LAMPS]
    row = "{kind: shift register, data: D11, clock: D13, latch: D10, outputs: 64}"
    outputs = f"\noutputs:\n  row: {row}\n"
    lamps = [
        f"  lamp {number}: {{momentary: {ask}, drives: row {number}}}"
        for number, ask in enumerate(asks, 1)
    ]
    return HEAD + made.text + outputs + "functions:\n" + "\n".join(lamps) + "\n"


def plan_of(learned: Learned) -> Plan | None:
    """The plan of that ship; None if no key and no switch is sure enough for one."""
    if not any(
        "positions" in one.keys and "ends" not in one.keys for one in sections(learned).controls
    ):
        return None
    return load_text(ship_text(learned).encode()).plan


def for_plan(plan: Plan, trace: Trace) -> Trace:
    """The same trace with the columns that a plan hears, in its order."""
    columns = [trace.channels.index(one.name) for one in plan.inputs]
    names = tuple(one.name for one in plan.inputs)
    return replace(trace, channels=names, widths_half_us=trace.widths_half_us[:, columns])


@dataclass(frozen=True)
class Misread:
    """A position was believed at `tick` where the lever had not been for long."""

    control: str
    position: str
    tick: int


def misread(plan: Plan, played: Played, within_s: float) -> list[Misread]:
    """Every position that the plan's reading takes while the lever was not there within the last
    `within_s`."""
    trace = for_plan(plan, played.trace())
    levers = [lever_of(played, plan.channels[one.channel].name, one.slot) for one in plan.controls]
    streams = streams_of(plan)
    states = [control_state(one, ChannelState(plan.channels[one.channel])) for one in plan.controls]
    lost_at = dict.fromkeys(range(len(streams)), 0)
    wrong = []
    for pulses in thinned(plan, trace):
        for tick, stream, width, lost in zip(*pulses, strict=True):
            for number in streams[stream].controls:
                state, control = states[number], plan.controls[number]
                if lost_at[stream] and tick > lost_at[stream]:
                    state.forget()
                before = state.position
                state.hear(width)
                lever = levers[number]
                if state.position in (NO_POSITION, before) or lever is None:
                    continue
                band = control.positions[state.position]
                if not _was_there(played, lever, tick, within_s, band):
                    wrong.append(Misread(control.name, band.name, tick))
            lost_at[stream] = lost
    return wrong


def lever_of(played: Played, channel: str, slot: int) -> Lever | None:
    """The lever on a channel, or in one of its slots."""
    radio = played.radio
    if radio.box is not None and channel == radio.box.name and slot != ON_ITS_OWN:
        return radio.box.levers[slot - 1] if slot <= len(radio.box.levers) else None
    return next((one.lever for one in radio.own if one.name == channel), None)


def _was_there(played: Played, lever: Lever, tick: int, within_s: float, band: Position) -> bool:
    """Whether the lever was in the band, or crossed it, within that time. It goes straight from one
    turn to the next, so that its turns and both ends are all there is to look at."""
    now = tick * TICK_S
    turns, _ = played.turns.get(lever.name, (np.zeros(0), None))
    first, last = np.searchsorted(turns, (now - within_s, now))
    times = np.concatenate(([max(now - within_s, 0.0)], turns[first:last], [now]))
    widths = played.widths_us(lever, times) * 2
    slack = 2 * NOISE_SD * played.radio.noise_us
    return bool(
        widths.min() - slack <= band.high_half_us and widths.max() + slack >= band.low_half_us
    )
