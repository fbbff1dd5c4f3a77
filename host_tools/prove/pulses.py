"""From pulses to what functions look at: whatever is put out, it is no more than `system.py` lets a
channel, a control and a sensor be.

A tick hears any number of pulses of any width. So each kind of step is taken by itself - a tick
begins, a pulse is heard, the tick is judged - from every state that the steps before can leave.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import z3

from gen.plan import MOST_COUNTS, TICK_MS
from host_tools.model.receiver import NEVER_HEARD
from host_tools.prove.encoding.channel import ChannelEncoding
from host_tools.prove.encoding.control import ControlEncoding
from host_tools.prove.encoding.sensors import sensor_encoding
from host_tools.prove.lemma import Lemma, any_memory, follows, inside
from host_tools.prove.terms import Terms

if TYPE_CHECKING:
    from collections.abc import Iterator

    from gen.plan import Plan
    from host_tools.prove.encoding.part import Memory

WIDEST = 0xFFFF


def channel_lemmas(plan: Plan, meant: Plan) -> Iterator[Lemma]:
    """Each channel is lost in time."""
    for index, channel in enumerate(meant.channels):
        ms = channel.lost_after_ticks * TICK_MS
        yield Lemma(
            "lost signal",
            f"{channel.name} counts as lost once nothing good came for {ms} ms, and a tick at most",
            channel.source_line,
            _is_lost_in_time(plan, index, channel.lost_after_ticks),
        )


def control_lemmas(plan: Plan) -> Iterator[Lemma]:
    """Each control is believed, and armed, as pulses say."""
    for index, control in enumerate(plan.controls):
        yield Lemma(
            "at rest first",
            f"{control.name} is armed only by a rest that was seen, and forgotten when lost",
            control.source_line,
            _is_believed_right(plan, index),
        )


def sensor_lemmas(plan: Plan) -> Iterator[Lemma]:
    """Each sensor stays within what its pin can say."""
    for sensor in plan.sensors:
        a = Terms()
        encoding = sensor_encoding(a, sensor)
        reading = z3.Int("reading")
        before, me = any_memory(encoding, "s")
        encoding.feel(me, reading)
        given = [
            inside(a, encoding, before),
            encoding.keeps(before),
            0 <= reading,
            reading <= MOST_COUNTS,
        ]
        yield Lemma(
            "bounds",
            f"{sensor.name} is felt within its bounds, whatever its pin says",
            sensor.source_line,
            follows(a, given, a.both(inside(a, encoding, me), encoding.keeps(me))),
        )


def _is_lost_in_time(plan: Plan, index: int, lost_after_ticks: int) -> bool:
    """By induction: its age is how long ago the last sign of life was."""
    a = Terms()
    channel = ChannelEncoding(a, plan.channels[index])
    since, width = z3.Int("since"), z3.Int("width")
    before, me = any_memory(channel, "c")

    def together(one: Memory, age: Any) -> Any:
        # Never heard; or as old as it was silent; or lost, and silent for at least that long.
        known = a.both(one.age == age, age < lost_after_ticks)
        gone = a.both(age >= lost_after_ticks, channel.lost(one))
        return a.both(inside(a, channel, one), a.any_of(one.age == NEVER_HEARD, known, gone))

    channel.grow(me)
    grown = follows(a, [together(before, since), since >= 0], together(me, since + 1))
    before, me = any_memory(channel, "c")
    good = _sign_of_life(a, channel, me, width)
    heard_since = z3.If(good, 0, since)
    given = [together(before, since), since >= 0, 0 <= width, width <= WIDEST]
    heard = follows(a, given, together(me, heard_since))
    return grown and heard


def _sign_of_life(a: Terms, channel: ChannelEncoding, me: Memory, width: Any) -> Any:
    """Whether a pulse is one, told from the ship file alone where the channel is not shared."""
    planned = channel.channel
    low, high = planned.valid_half_us
    preset = a.any_of(width < planned.lost_below_half_us, width > planned.lost_above_half_us)
    age = me.age
    channel.hear(me, width)
    good = a.both(low <= width, width <= high, a.no(preset))
    # On a shared channel a good pulse may say nothing; it is a sign of life if it makes it young.
    return good if planned.sharing is None else a.both(good, z3.And(me.age == 0, age != 0))


def _is_believed_right(plan: Plan, index: int) -> bool:
    """Three steps: a tick begins, a pulse is heard, the tick is judged."""
    a = Terms()
    control = ControlEncoding(a, plan.controls[index])
    channel = ChannelEncoding(a, plan.channels[control.control.channel])
    width = z3.Int("width")

    def settled(where: Memory, one: Memory) -> Any:
        """After a tick: who is not heard is nowhere and not armed."""
        nowhere = a.both(a.no(one.armed), _nowhere(control, one))
        return a.both(bounded(where, one), a.any_of(channel.alive(where), nowhere))

    def amid(where: Memory, one: Memory) -> Any:
        """Within a tick: the same of who was never heard."""
        nowhere = a.both(a.no(one.armed), _nowhere(control, one))
        return a.both(bounded(where, one), a.any_of(where.age != NEVER_HEARD, nowhere))

    def bounded(where: Memory, one: Memory) -> Any:
        return a.both(
            inside(a, channel, where),
            channel.keeps(where),
            inside(a, control, one),
            control.keeps(one),
        )

    where, there = any_memory(channel, "c")
    before, me = any_memory(control, "k")
    channel.grow(there)
    older = a.any_of(there.age == where.age, there.age == where.age + 1)
    begins = follows(a, [settled(where, before)], a.both(amid(there, me), older))

    where, there = any_memory(channel, "c")
    before, me = any_memory(control, "k")
    heard, widths = channel.hear(there, width)
    control.hear(me, heard, widths[control.control.slot])
    given = [amid(where, before), 0 <= width, width <= WIDEST]
    young = a.any_of(there.age == where.age, there.age == 0)
    hears = follows(a, given, a.both(amid(there, me), me.armed == before.armed, young))

    where, there = any_memory(channel, "c")
    before, me = any_memory(control, "k")
    alive, lost = channel.alive(where), channel.lost(where)
    control.judge(me, alive, lost)
    rests = me.position == control.control.rest
    armed = me.armed == a.both(alive, a.any_of(before.armed, rests))
    judged = follows(a, [amid(where, before)], a.both(settled(there, me), armed))
    return begins and hears and judged


def _nowhere(control: ControlEncoding, me: Memory) -> Any:
    return me.position >= len(control.control.positions)
