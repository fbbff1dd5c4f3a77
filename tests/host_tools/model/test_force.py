"""What the bench forces, tick by tick, worked by hand as in test_behaviours.py."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.behaviours import (
    REGISTRY,
    Auto,
    Dimmer,
    Follow,
    Function,
    Loss,
    Momentary,
    Pulse,
    Rhythm,
    Sequence,
    Step,
    Toggle,
    Winch,
)
from gen.behaviours.follow import Stick
from gen.behaviours.sequence import Leg
from gen.behaviours.trigger import Trigger, When
from gen.plan import NO_FORCE, Bar, Bench, Felt, Gate, Plan, Stage, StateOf, force_of, forced_by
from tests.host_tools.bench_ship import (
    CENTRE,
    FLOAT,
    KEY_DOWN,
    KEY_UP,
    LEVEL,
    LOST_AFTER_TICKS,
    OTHER_UP,
    SILENCE,
    UP,
    plan_with,
    spans,
    worked,
)

if TYPE_CHECKING:
    from host_tools.record import Record

FORCED = 2
"""The place of what is forced, behind the two sensors."""

REST = (100, [CENTRE])
NO_RADIO = (400, [SILENCE, SILENCE, SILENCE])
ON, OFF = 1, 0
LOWERING, RAISING = 1, 2
AT_REST, LOW_END, HIGH_END = 0, 1, 2

LAMP = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=2)
HORN = Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=OTHER_UP, drives=3)
BELL = Pulse(name="bell", code="bell", on_loss=Loss.OFF, ask=KEY_UP, drives=2, duration_ticks=30)
DAVIT = Winch(
    name="davit",
    code="davit",
    on_loss=Loss.OFF,
    first=KEY_DOWN,
    second=KEY_UP,
    ways=("lower", "raise"),
    first_limit_ticks=200,
    second_limit_ticks=200,
    pause_ticks=20,
    drives=0,
    pair_lines=(0, 1),
)
PUMP = Auto(
    name="pump",
    code="pump",
    on_loss=Loss.KEEP,
    when=Felt(FLOAT, 1, 1),
    wait_ticks=50,
    run_on_ticks=0,
    longest_ticks=0,
    by_hand=None,
    stop=None,
    drives=2,
)
RUDDER = Follow(
    name="rudder",
    code="rudder",
    on_loss=Loss.KEEP,
    stick=Stick(2, 3000),
    travel_half_us=(2000, 3000, 3600),
    drives=0,
    reverse=True,
    step_per_256=256 * 20,
)
WIG_WAG = Rhythm(
    name="wig wag",
    code="wig_wag",
    on_loss=Loss.OFF,
    trigger=Trigger(When.PRESSED, KEY_UP),
    phases_ticks=(5, 5),
    begins_on=True,
    repeats=True,
    keeps_phase=False,
    drives=2,
    text="drawn",
)
STARTER = Sequence(
    name="engine",
    code="engine",
    on_loss=Loss.OFF,
    ask=KEY_UP,
    abort=KEY_DOWN,
    own_lines=(2, 3),
    line_names=("ignition", "starter"),
    legs=(Leg(1, 30, None, False), Leg(3, 10, None, False), Leg(1, 0, None, False)),
    waits=(),
)
MAST = Step(
    name="mast",
    code="mast",
    on_loss=Loss.KEEP,
    ask=KEY_UP,
    back=None,
    names=("dark", "towing", "at anchor"),
    masks=(0, 1, 2),
    duties=((), (), ()),
    own_lines=(2, 3),
    own_lights=(),
    wraps=True,
)
SALOON = Dimmer(
    name="saloon",
    code="saloon",
    on_loss=Loss.OFF,
    trigger=Trigger(When.PRESSED, KEY_UP),
    brightness=200,
    knob=None,
    up_per_256=256 * 10,
    down_per_256=256 * 20,
    flicker="",
    seed=1,
    drives=0,
)
EVERY = (LAMP, HORN, BELL, DAVIT, PUMP, RUDDER, WIG_WAG, STARTER, MAST, SALOON)


def benched(*functions: Function) -> Plan:
    return dataclasses.replace(plan_with(*functions), bench=Bench(""))


def run(
    plan: Plan,
    *moves: tuple[int, list[int]],
    forces: list[tuple[int, int]],
    felt: tuple[tuple[int, int, int], ...] = (),
) -> Record:
    """`forces` are (tick, reading) pairs; the float is up unless it is said."""
    return worked(
        plan,
        *moves,
        felt=[(0, FLOAT, 1), *felt, *((at, FORCED, reading) for at, reading in forces)],
    )


def during(begin: int, end: int, state: int, function: int = 0) -> list[tuple[int, int]]:
    return [(begin, force_of(function, state)), (end, NO_FORCE)]


def away(record: Record) -> bool:
    return bool((record.servos_half_us != 3000).any() or record.levels.any())


def test_a_force_in_one_number() -> None:
    assert force_of(0, 2) == 258
    assert forced_by(258) == (0, 2)
    assert forced_by(force_of(23, 15)) == (23, 15)
    assert forced_by(NO_FORCE) is None


def test_every_behaviour_is_forced_below() -> None:
    assert {type(function) for function in EVERY} == set(REGISTRY.values())


@pytest.mark.parametrize("function", EVERY, ids=lambda function: function.key)
def test_without_a_receiver_and_off_again_behind_the_force(function: Function) -> None:
    record = run(benched(function), NO_RADIO, forces=during(100, 160, len(function.forces) - 1))
    assert record.lines[100:160].any() or away(record)
    assert not record.lines[160:].any()
    assert not record.levels[-1].any()
    assert record.servos_half_us[-1].tolist() == [3000]


@pytest.mark.parametrize("function", EVERY, ids=lambda function: function.key)
def test_what_does_not_exist_is_no_force(function: Function) -> None:
    plan = benched(function)
    still = run(plan, NO_RADIO, forces=[])
    for reading in (force_of(0, len(function.forces)), force_of(0, 255), force_of(1, 0), 1, 255):
        record = run(plan, NO_RADIO, forces=[(100, reading)])
        assert not record.lines.any()
        assert not away(record)
        np.testing.assert_array_equal(record.digests, still.digests)


def test_what_is_forced_is_remembered_in_the_digest() -> None:
    plan = benched(HORN)
    still = run(plan, NO_RADIO, forces=[])
    record = run(plan, NO_RADIO, forces=during(100, 160, OFF))
    assert record.digests is not None
    apart = np.flatnonzero(record.digests != still.digests).tolist()
    assert apart == list(range(100, 161))  # and one tick more, in which it is another force: none


def test_a_lamp_that_was_on_is_off_behind_a_force() -> None:
    record = run(benched(LAMP), REST, (300, [UP]), forces=during(200, 260, ON))
    assert spans(record, 2) == [(104, 156)]


def test_a_lamp_that_was_on_is_forced_off() -> None:
    record = run(benched(LAMP), REST, (300, [UP]), forces=during(200, 260, OFF))
    assert spans(record, 2) == [(104, 96)]


def test_a_key_that_is_held_is_obeyed_from_the_second_tick_on() -> None:
    held = (100, [CENTRE, UP])
    record = run(benched(HORN), REST, held, forces=during(120, 150, ON))
    assert spans(record, 3) == [(104, 46), (151, 49)]
    record = run(benched(HORN), REST, held, forces=during(120, 150, OFF))
    assert spans(record, 3) == [(104, 16), (150, 50)]  # it was off in the tick before


def test_a_force_that_goes_over_to_another_function_ends_first() -> None:
    forces = [(120, force_of(0, ON)), (140, force_of(1, ON)), (160, NO_FORCE)]
    record = run(benched(HORN, LAMP), REST, (100, [CENTRE, UP]), forces=forces)
    assert spans(record, 3) == [(104, 36), (141, 59)]
    assert spans(record, 2) == [(141, 19)]


def test_a_press_that_is_held_to_the_end_of_a_force_counts_for_nothing() -> None:
    record = run(
        benched(LAMP),
        REST,
        (40, [UP]),  # on and, at 120, forced
        (40, [CENTRE]),
        (100, [UP]),  # a press while the force lasts
        (40, [CENTRE]),
        (40, [UP]),  # and one behind it
        forces=during(120, 240, ON),
    )
    assert spans(record, 2) == [(104, 136), (324, 36)]


def test_a_forced_winch_stops_at_its_limits_and_before_it_turns() -> None:
    forces = [(100, force_of(0, LOWERING)), (310, force_of(0, RAISING)), (900, NO_FORCE)]
    record = run(benched(DAVIT), NO_RADIO, (600, [SILENCE]), forces=forces)
    assert spans(record, 0) == [(100, 200)]
    assert spans(record, 1) == [(320, 200)]  # it stood still from 300 on, for 20 ticks


def test_a_forced_winch_is_never_driven_both_ways() -> None:
    """Against a key that asks for the other way, and from one way to the other at once."""
    winch = dataclasses.replace(DAVIT, pause_ticks=0)
    forces = [(120, force_of(0, LOWERING)), (140, force_of(0, RAISING)), (160, NO_FORCE)]
    record = run(benched(winch), REST, (100, [UP]), forces=forces)
    assert not ((record.lines & 3) == 3).any()
    assert spans(record, 0) == [(120, 20)]
    assert spans(record, 1) == [(104, 16), (140, 20), (161, 39)]


def test_a_forced_winch_stops_at_its_end_switch() -> None:
    winch = dataclasses.replace(DAVIT, ends=(Felt(FLOAT, 1, 1), None))
    felt = ((0, FLOAT, 1), (120, FLOAT, 0))  # closed from 123 on: 4 ticks of debouncing
    record = run(benched(winch), NO_RADIO, felt=felt, forces=during(100, 300, LOWERING))
    assert spans(record, 0) == [(100, 23)]


def test_a_forced_winch_that_is_lost_does_only_what_it_may() -> None:
    winch = dataclasses.replace(DAVIT, unknown=(False, True))
    forces = [(100, force_of(0, LOWERING)), (200, force_of(0, RAISING)), (300, NO_FORCE)]
    record = run(benched(winch), NO_RADIO, forces=forces)
    assert spans(record, 0) == []
    assert spans(record, 1) == [(200, 100)]


def test_what_is_barred_is_not_forced_before_its_gate_opens() -> None:
    lamp = dataclasses.replace(LAMP, ask=OTHER_UP)
    horn = dataclasses.replace(HORN, ask=KEY_UP, gate=Gate(bars=(Bar((1,), StateOf(0, (1,))),)))
    record = run(
        benched(lamp, horn),
        REST,
        (40, [CENTRE, UP]),  # the lamp, from 104 on
        (40, [CENTRE, CENTRE]),
        (40, [CENTRE, UP]),  # to 184
        (40, [CENTRE, CENTRE]),
        forces=during(140, 200, ON, function=1),
    )
    assert spans(record, 2) == [(104, 80)]
    assert spans(record, 3) == [(184, 16)]


def test_what_is_forced_keeps_off_what_may_not_run_with_it() -> None:
    horn = dataclasses.replace(HORN, gate=Gate(bars=(Bar((1,), StateOf(0, (1,))),)))
    record = run(benched(LAMP, horn), REST, (100, [CENTRE, UP]), forces=during(120, 160, ON))
    assert spans(record, 2) == [(120, 40)]
    assert spans(record, 3) == [(104, 16), (160, 40)]


def test_a_forced_one_and_one_that_is_asked_for_stop_each_other() -> None:
    lamp = dataclasses.replace(LAMP, gate=Gate(both_is_stop=(1,)))
    horn = dataclasses.replace(HORN, gate=Gate(both_is_stop=(0,)))
    record = run(
        benched(lamp, horn),
        (120, [CENTRE]),
        (40, [CENTRE, UP]),
        (40, [CENTRE, CENTRE]),
        forces=during(110, 190, ON),
    )
    assert spans(record, 2) == [(110, 14), (164, 26)]
    assert spans(record, 3) == []


def test_a_low_battery_is_not_forced() -> None:
    stage = Stage(Felt(LEVEL, 0, 399), 20, Felt(LEVEL, 500, 1023), 20)
    lamp = dataclasses.replace(LAMP, gate=Gate(stage=0))
    plan = dataclasses.replace(benched(lamp), stages=(stage,))
    felt = ((0, LEVEL, 600), (140, LEVEL, 300))
    record = run(plan, (300, [CENTRE]), felt=felt, forces=during(100, 250, ON))
    assert spans(record, 2) == [(100, 60)]


def test_a_pulse_is_forced_for_its_time_once_for_each_force() -> None:
    forces = [*during(100, 200, ON), *during(201, 210, ON)]
    record = run(benched(BELL), NO_RADIO, forces=forces)
    assert spans(record, 2) == [(100, 30), (201, 9)]


def test_a_pulse_that_runs_is_not_made_longer() -> None:
    record = run(benched(BELL), REST, (100, [UP]), forces=during(120, 190, ON))
    assert spans(record, 2) == [(104, 30)]


def test_a_rhythm_is_forced_from_its_beginning() -> None:
    record = run(benched(WIG_WAG), REST, (100, [UP]), forces=during(123, 138, ON))
    # By its key from 104 on: 5 on, 5 off, 5 on, and off as it is forced.
    assert spans(record, 2) == [(104, 5), (114, 5), (123, 5), (133, 5)]


def test_a_pattern_that_comes_once_comes_once_for_each_force() -> None:
    once = dataclasses.replace(WIG_WAG, phases_ticks=(5, 5, 7), repeats=False)
    for trigger in (WIG_WAG.trigger, Trigger(When.HELD, KEY_UP), Trigger(When.ALWAYS)):
        plan = benched(dataclasses.replace(once, trigger=trigger))
        forces = [*during(100, 150, ON), *during(160, 172, ON)]
        record = run(plan, NO_RADIO, forces=forces)
        at_power_up = [(0, 5), (10, 7)] if trigger.when is When.ALWAYS else []
        expected = [*at_power_up, (100, 5), (110, 7), (160, 5), (170, 2)]
        if trigger.when is When.ALWAYS:  # which it begins anew each time that it was let go
            expected[-2:] = [(151, 5), (160, 5), (170, 2), (173, 5), (183, 7)]
        assert spans(record, 2) == expected


def test_a_leg_of_a_sequence_is_forced_for_its_time_only() -> None:
    assert STARTER.forces == ("off", "ignition", "ignition and starter")
    record = run(benched(STARTER), NO_RADIO, forces=during(100, 200, 2))
    assert spans(record, 2) == [(100, 10)]
    assert spans(record, 3) == [(100, 10)]
    record = run(benched(STARTER), NO_RADIO, forces=during(100, 200, 1))
    assert spans(record, 2) == [(100, 30)]  # the first of its legs that looks so
    endless = dataclasses.replace(STARTER, legs=STARTER.legs[1:])
    record = run(benched(endless), NO_RADIO, forces=during(100, 200, 2))
    assert spans(record, 2) == [(100, 100)]


def test_a_step_is_forced_from_state_to_state() -> None:
    forces = [(100, force_of(0, 2)), (120, force_of(0, 1)), (140, NO_FORCE)]
    record = run(benched(MAST), NO_RADIO, forces=forces)
    assert spans(record, 3) == [(100, 20)]
    assert spans(record, 2) == [(120, 20)]


def test_a_forced_dimmer_fades() -> None:
    record = run(benched(SALOON), NO_RADIO, forces=during(100, 150, ON))
    lit = np.flatnonzero(record.levels[:, 0])
    assert (lit[0], lit[-1]) == (100, 158)  # 20 ticks up to 200, and from 150 on 10 down
    assert record.levels[118, 0] < record.levels[119, 0] == record.levels[149, 0]


def test_a_forced_fire_flickers_no_faster() -> None:
    fire = dataclasses.replace(
        SALOON, trigger=Trigger(When.ALWAYS), flicker="fire", brightness=255, on_loss=Loss.KEEP
    )
    burning = run(benched(fire), NO_RADIO, forces=[])
    record = run(benched(fire), NO_RADIO, forces=during(100, 300, ON))
    np.testing.assert_array_equal(record.levels[:300], burning.levels[:300])


def test_a_servo_is_forced_to_its_ends_at_its_own_speed() -> None:
    """The ends are those of the servo, whichever way it answers its stick."""
    forces = [(100, force_of(0, LOW_END)), (200, force_of(0, AT_REST))]
    forces += [(300, force_of(0, HIGH_END)), (350, NO_FORCE)]
    record = run(benched(RUDDER), NO_RADIO, forces=forces)
    widths = record.servos_half_us[:, 0].tolist()
    assert widths[99:102] == [3000, 2980, 2960]
    assert widths[149:201] == [2000] * 51 + [2020]
    assert widths[249:301] == [3000] * 51 + [3020]
    assert widths[329:351] == [3600] * 21 + [3580]
    assert widths[379:] == [3000] * 21


def test_behind_a_force_a_speed_controller_is_given_rest_anew() -> None:
    engine = dataclasses.replace(RUDDER, reverse=False, neutral_ticks=40, step_per_256=2**20)
    ahead = [CENTRE, CENTRE, UP]
    record = run(
        benched(engine),
        REST,
        (100, ahead),  # obeyed from 104 on: it has seen its neutral
        (100, ahead),  # forced to rest from 200 to 210, and not obeyed
        (100, [CENTRE]),  # neutral from 300 on
        (50, ahead),
        forces=during(200, 210, AT_REST),
    )
    moved = np.flatnonzero(record.servos_half_us[:, 0] != 3000).tolist()
    assert moved[0] in range(100, 105)
    assert 199 in moved
    assert not set(range(200, 400)) & set(moved)
    assert 449 in moved


def test_what_an_auto_waits_for_is_waited_for_meanwhile() -> None:
    """Closed from the first tick on, it would run from 50 on."""
    felt = ((0, FLOAT, 0),)
    record = run(benched(PUMP), NO_RADIO, felt=felt, forces=during(20, 120, OFF))
    assert spans(record, 2) == [(120, 280)]
    record = run(benched(PUMP), NO_RADIO, felt=felt, forces=during(20, 40, ON))
    assert spans(record, 2) == [(20, 20), (50, 350)]


def test_a_lost_signal_is_what_a_force_is_for() -> None:
    """A winch always stops without a signal; only the bench moves it then."""
    record = run(benched(DAVIT), REST, NO_RADIO, forces=during(300, 350, RAISING))
    assert 300 > 100 + LOST_AFTER_TICKS
    assert spans(record, 1) == [(300, 50)]
