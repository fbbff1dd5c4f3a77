"""Conditions between functions, tick by tick, worked by hand as in test_behaviours.py."""

from __future__ import annotations

import dataclasses

from gen.behaviours import Follow, Function, Loss, Momentary, Pulse, Toggle, Winch
from gen.behaviours.follow import Stick
from gen.plan import Bar, First, Gate, StateOf
from tests.host_tools.bench_ship import (
    CENTRE,
    DOWN,
    KEY_DOWN,
    KEY_UP,
    OTHER_UP,
    UP,
    plan_with,
    spans,
    worked,
)

BELIEVED = 4
REST = (100, [CENTRE, CENTRE])

LAMP = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=KEY_UP, drives=2)
HORN = Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=OTHER_UP, drives=3)
BELL = Pulse(name="bell", code="bell", on_loss=Loss.OFF, ask=OTHER_UP, drives=3, duration_ticks=50)
DAVIT = Winch(
    name="davit",
    code="davit",
    on_loss=Loss.OFF,
    first=KEY_DOWN,
    second=KEY_UP,
    ways=("lower", "raise"),
    first_limit_ticks=2000,
    second_limit_ticks=2000,
    pause_ticks=0,
    drives=0,
    pair_lines=(0, 1),
)
RUDDER = Follow(
    name="rudder",
    code="rudder",
    on_loss=Loss.KEEP,
    stick=Stick(2, 3000),
    travel_half_us=(2000, 3000, 4000),
    drives=0,
    reverse=False,
    step_per_256=256 * 20,
)

IS_ON = StateOf(0, (1,))


def gated(function: Function, **gate: object) -> Function:
    return dataclasses.replace(function, gate=Gate(**gate))  # type: ignore[arg-type]


def test_only_while_holds_in_the_very_tick() -> None:
    plan = plan_with(LAMP, gated(HORN, only_while=(IS_ON,)))
    moves = [REST, (40, [CENTRE, UP]), (40, [UP, UP]), (40, [CENTRE, UP]), (40, [UP, UP])]
    record = worked(plan, *moves)
    assert spans(record, 2) == [(144, 80)]
    assert spans(record, 3) == [(144, 80)]


def test_one_that_stands_earlier_follows_a_tick_later() -> None:
    plan = plan_with(gated(HORN, only_while=(StateOf(1, (1,)),)), LAMP)
    record = worked(plan, REST, (40, [CENTRE, UP]), (40, [UP, UP]), (40, [CENTRE, UP]))
    assert spans(record, 2) == [(144, 76)]
    assert spans(record, 3) == [(145, 75)]


def test_a_toggle_that_was_barred_must_be_pressed_again() -> None:
    lamp = gated(dataclasses.replace(LAMP, ask=OTHER_UP, drives=3), only_while=(IS_ON,))
    plan = plan_with(dataclasses.replace(LAMP, name="first", code="first"), lamp)
    record = worked(
        plan,
        REST,
        (40, [CENTRE, UP]),  # barred: this press is lost
        (40, [UP, CENTRE]),  # from 144 it could be on
        (40, [CENTRE, UP]),  # on at 184
        (40, [UP, CENTRE]),  # off at 224, with the first one
        (80, [CENTRE, CENTRE]),
        (40, [UP, CENTRE]),  # the first one again; this one stays off
    )
    assert spans(record, 3) == [(184, 40)]


def test_a_pulse_that_is_barred_has_run_out() -> None:
    plan = plan_with(LAMP, gated(BELL, only_while=(IS_ON,)))
    record = worked(
        plan,
        REST,
        (40, [UP, CENTRE]),
        (20, [CENTRE, UP]),
        (20, [UP, UP]),
        (40, [CENTRE, UP]),
        (40, [UP, UP]),
    )  # fmt: skip - one line a move would hide that it is one row
    assert spans(record, 3) == [(144, 20)]


def test_the_one_that_runs_keeps_the_other_off() -> None:
    lamp = gated(LAMP, bars=(Bar((1,), StateOf(1, (1,))),))
    horn = gated(HORN, bars=(Bar((1,), IS_ON),))
    record = worked(
        plan_with(lamp, horn),
        REST,
        (40, [CENTRE, UP]),  # horn from 104
        (40, [UP, UP]),  # the lamp is kept off; its press is lost
        (40, [CENTRE, CENTRE]),  # both off from 184
        (40, [UP, CENTRE]),  # lamp from 224
        (40, [CENTRE, UP]),  # the horn is kept off
    )
    assert spans(record, 3) == [(104, 80)]
    assert spans(record, 2) == [(224, 76)]


def test_of_two_that_start_together_the_earlier_wins() -> None:
    lamp = gated(LAMP, bars=(Bar((1,), StateOf(1, (1,))),))
    horn = gated(HORN, bars=(Bar((1,), IS_ON),))
    record = worked(plan_with(lamp, horn), REST, (100, [UP, UP]))
    assert spans(record, 2) == [(104, 96)]
    assert spans(record, 3) == []


def test_a_bar_may_leave_a_winch_its_other_way() -> None:
    davit = gated(dataclasses.replace(DAVIT), bars=(Bar((1,), IS_ON),))
    lamp = dataclasses.replace(LAMP, ask=OTHER_UP)
    record = worked(
        plan_with(lamp, davit),
        REST,
        (40, [CENTRE, UP]),
        (40, [DOWN, CENTRE]),
        (40, [UP, CENTRE]),
        (40, [CENTRE, UP]),
        (40, [DOWN, CENTRE]),
    )
    assert spans(record, 0) == [(264, 36)]
    assert spans(record, 1) == [(184, 40)]


def test_first_is_asked_only_at_the_start() -> None:
    horn = gated(HORN, first=(First(IS_ON, 30),))
    record = worked(
        plan_with(LAMP, horn),
        REST,
        (40, [UP, UP]),  # the lamp from 104, so the horn from 134
        (40, [CENTRE, UP]),
        (40, [UP, UP]),  # the lamp goes off at 184; the horn goes on
        (40, [CENTRE, CENTRE]),
        (40, [CENTRE, UP]),  # and does not start again
    )
    assert spans(record, 3) == [(134, 90)]


def test_asking_for_both_is_stop_for_both() -> None:
    hiss = dataclasses.replace(HORN, name="hiss", code="hiss", ask=KEY_UP, drives=2)
    record = worked(
        plan_with(gated(hiss, both_is_stop=(1,)), gated(HORN, both_is_stop=(0,))),
        REST,
        (40, [UP, CENTRE]),
        (40, [UP, UP]),  # from 144 both ask
        (40, [CENTRE, UP]),  # from 184 the horn alone
        (40, [CENTRE, CENTRE]),
        (40, [UP, UP]),  # neither starts, not for a tick
    )
    assert spans(record, 2) == [(104, 40)]
    assert spans(record, 3) == [(184, 40)]


def test_a_toggle_that_is_stopped_so_no_longer_asks() -> None:
    record = worked(
        plan_with(gated(LAMP, both_is_stop=(1,)), gated(HORN, both_is_stop=(0,))),
        REST,
        (40, [UP, CENTRE]),
        (40, [CENTRE, UP]),
    )
    assert spans(record, 2) == [(104, 40)]
    assert spans(record, 3) == [(145, 35)]


def test_a_barred_servo_goes_to_rest_at_its_own_speed() -> None:
    rudder = gated(RUDDER, only_while=(IS_ON,))
    record = worked(
        plan_with(LAMP, rudder),
        REST,
        (100, [UP, CENTRE, UP]),
        (40, [CENTRE, CENTRE, UP]),
        (100, [UP, CENTRE, UP]),
    )
    widths = record.servos_half_us[:, 0].tolist()
    assert widths[103:106] == [3000, 3020, 3040]
    assert widths[243:246] == [4000, 3980, 3960]
    assert widths[-1] == 3000


def test_what_is_barred_stays_off_on_loss() -> None:
    horn = gated(dataclasses.replace(HORN, on_loss=Loss.ON), only_while=(IS_ON,))
    record = worked(plan_with(LAMP, horn), REST, (200, [CENTRE, 0]))
    assert spans(record, 3) == []
