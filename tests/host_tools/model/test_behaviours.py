"""What each behaviour does, tick by tick, with a key worked by hand.

A key's pulses come every 4 ticks and settle with the second, so a key that is moved at tick t (a
multiple of 4) is believed at tick t + 4.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from gen.behaviours import Auto, Follow, Loss, Momentary, Pulse, Toggle, Winch
from gen.behaviours.follow import Mixed, Stick, Tied
from gen.behaviours.winch import Duty
from gen.plan import Ask, Felt, StateOf
from tests.host_tools.bench_ship import (
    CENTRE,
    DEBOUNCE_TICKS,
    DOWN,
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

BELIEVED = 4
STICK = Stick(2, 3000)
REST = (100, [CENTRE])


def toggle(loss: Loss = Loss.OFF) -> Toggle:
    return Toggle(name="lamp", code="lamp", on_loss=loss, ask=KEY_UP, drives=2)


def winch(pause: int = 20, first: int = 200, second: int = 200) -> Winch:
    return Winch(
        name="davit",
        code="davit",
        on_loss=Loss.OFF,
        first=KEY_DOWN,
        second=KEY_UP,
        ways=("lower", "raise"),
        first_limit_ticks=first,
        second_limit_ticks=second,
        pause_ticks=pause,
        drives=0,
        pair_lines=(0, 1),
    )


def follow(
    *, loss: Loss = Loss.OFF, reverse: bool = False, step: int = 2**20, **more: object
) -> Follow:
    plain = Follow(
        name="rudder",
        code="rudder",
        on_loss=loss,
        stick=STICK,
        travel_half_us=(2000, 3000, 4000),
        drives=0,
        reverse=reverse,
        step_per_256=step,
    )
    return dataclasses.replace(plain, **more)  # type: ignore[arg-type]


def test_a_toggle_changes_at_each_press_and_not_while_held() -> None:
    record = worked(plan_with(toggle()), REST, (400, [UP]), (40, [CENTRE]), (60, [UP]))
    assert spans(record, 2) == [(100 + BELIEVED, 440)]


def test_a_toggle_wants_rest_between_presses() -> None:
    record = worked(
        plan_with(toggle()), REST, (40, [UP]), (40, [DOWN]), (40, [UP]), (40, [CENTRE]), (40, [UP])
    )
    assert spans(record, 2) == [(100 + BELIEVED, 160)]


def test_nothing_answers_a_key_that_is_held_at_power_up() -> None:
    plan = plan_with(
        toggle(),
        Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=KEY_UP, drives=3),
        winch(),
    )
    assert not worked(plan, (500, [UP])).lines.any()


@pytest.mark.parametrize("loss", [Loss.OFF, Loss.KEEP, Loss.ON])
def test_a_toggle_does_on_loss_what_it_was_told(loss: Loss) -> None:
    # On at 104; the last pulse comes at 196, and the channel is lost LOST_AFTER_TICKS later.
    record = worked(plan_with(toggle(loss)), REST, (100, [UP]), (400, [SILENCE]))
    end = 196 + LOST_AFTER_TICKS if loss is Loss.OFF else 600
    assert spans(record, 2) == [(104, end - 104)]


def test_on_loss_on_lights_a_lamp_until_it_is_pressed_off() -> None:
    moves = [REST, (400, [SILENCE]), REST, (40, [UP]), REST]
    lost_at = 96 + LOST_AFTER_TICKS
    assert spans(worked(plan_with(toggle(Loss.ON)), *moves), 2) == [(lost_at, 604 - lost_at)]


def test_a_signal_that_never_came_is_not_a_lost_one() -> None:
    record = worked(plan_with(toggle(Loss.ON)), (1000, [SILENCE]), REST)
    assert spans(record, 2) == []


def test_a_key_that_is_held_when_the_signal_returns_starts_nothing() -> None:
    plan = plan_with(winch())
    record = worked(plan, REST, (60, [DOWN]), (200, [SILENCE]), (200, [DOWN]), REST, (60, [DOWN]))
    assert [begin for begin, _ in spans(record, 0)] == [104, 660 + BELIEVED]


def test_momentary_is_on_while_held() -> None:
    plan = plan_with(Momentary(name="h", code="h", on_loss=Loss.OFF, ask=KEY_UP, drives=3))
    record = worked(plan, REST, (40, [UP]), REST)
    assert spans(record, 3) == [(100 + BELIEVED, 40)]


@pytest.mark.parametrize("held", [8, 40, 400])
def test_a_pulse_lasts_its_time_however_long_it_is_held(held: int) -> None:
    plan = plan_with(
        Pulse(name="h", code="h", on_loss=Loss.OFF, ask=KEY_UP, drives=3, duration_ticks=77)
    )
    assert spans(worked(plan, REST, (held, [UP]), (500, [CENTRE])), 3) == [(104, 77)]


def test_a_press_during_a_pulse_is_swallowed() -> None:
    plan = plan_with(
        Pulse(name="h", code="h", on_loss=Loss.OFF, ask=KEY_UP, drives=3, duration_ticks=77)
    )
    record = worked(plan, REST, (20, [UP]), (20, [CENTRE]), (20, [UP]), (200, [CENTRE]))
    assert spans(record, 3) == [(104, 77)]


@pytest.mark.parametrize(("loss", "length"), [(Loss.OFF, 116 + 60 - 104), (Loss.KEEP, 300)])
def test_a_pulse_that_is_kept_runs_out(loss: Loss, length: int) -> None:
    plan = plan_with(
        Pulse(name="h", code="h", on_loss=loss, ask=KEY_UP, drives=3, duration_ticks=300)
    )
    assert spans(worked(plan, REST, (20, [UP]), (600, [SILENCE])), 3) == [(104, length)]


def test_a_winch_obeys_while_held() -> None:
    record = worked(plan_with(winch()), REST, (80, [DOWN]), REST, (40, [UP]), REST)
    assert spans(record, 0) == [(104, 80)]
    assert spans(record, 1) == [(284, 40)]


def test_a_winch_pauses_before_it_reverses() -> None:
    record = worked(plan_with(winch(pause=50)), REST, (80, [DOWN]), (120, [UP]), REST)
    (first, ran), (second, _) = *spans(record, 0), *spans(record, 1)
    assert second - (first + ran) == 50


def test_a_winch_pauses_after_power_up() -> None:
    plan = plan_with(winch(pause=600))
    assert spans(worked(plan, REST, (700, [DOWN])), 0)[0][0] == 600


def test_a_winch_stops_at_its_limit_and_stays() -> None:
    record = worked(plan_with(winch(first=90)), REST, (300, [DOWN]), REST, (300, [DOWN]))
    assert spans(record, 0) == [(104, 90)]


def test_the_limit_counts_on_between_presses() -> None:
    record = worked(
        plan_with(winch(first=90)), REST, (60, [DOWN]), (40, [CENTRE]), (60, [DOWN]), REST
    )
    assert [length for _, length in spans(record, 0)] == [60, 30]


def test_the_way_back_takes_its_own_time_and_gives_the_whole_travel_back() -> None:
    # 80 ticks down, 120 ticks up: a whole travel each, again and again, without a drift.
    there_and_back = [(200, [DOWN]), (40, [CENTRE]), (200, [UP]), (40, [CENTRE])] * 5
    record = worked(plan_with(winch(first=80, second=120)), REST, *there_and_back)
    assert [length for _, length in spans(record, 0)] == [80] * 5
    assert [length for _, length in spans(record, 1)] == [120] * 5


def test_half_the_travel_down_allows_no_more_than_the_rest_of_it() -> None:
    moves = [(200, [UP]), (40, [CENTRE]), (60, [DOWN]), (40, [CENTRE]), (300, [UP]), (40, [CENTRE])]
    record = worked(plan_with(winch(first=120, second=120)), REST, *moves)
    assert [length for _, length in spans(record, 1)] == [120, 60]


def test_both_ways_asked_for_is_stop() -> None:
    both = Winch(
        name="crane",
        code="crane",
        on_loss=Loss.OFF,
        first=KEY_UP,
        second=OTHER_UP,
        ways=("slew left", "slew right"),
        first_limit_ticks=1000,
        second_limit_ticks=1000,
        pause_ticks=20,
        drives=0,
        pair_lines=(0, 1),
    )
    record = worked(
        plan_with(both), REST, (40, [UP, CENTRE]), (40, [UP, UP]), (40, [CENTRE, UP]), REST
    )
    assert spans(record, 0) == [(104, 40)]
    assert spans(record, 1) == [(184, 40)]


def test_a_winch_stops_when_any_of_its_controls_is_lost() -> None:
    record = worked(plan_with(winch(first=2000)), REST, (40, [DOWN]), (1000, [SILENCE]))
    assert spans(record, 0) == [(104, 136 + LOST_AFTER_TICKS - 104)]


def test_a_winch_may_do_only_one_thing_until_it_has_found_an_end() -> None:
    record = worked(
        plan_with(dataclasses.replace(winch(pause=0), unknown=(True, False))),
        REST,
        (40, [UP]),  # not allowed
        (100, [DOWN]),
        (40, [UP]),  # half of the way is not an end
        (140, [DOWN]),  # the other half: 100 ticks from 284
        (40, [UP]),
    )
    assert spans(record, 0) == [(144, 100), (284, 100)]
    assert spans(record, 1) == [(424, 36)]


def test_a_winch_rests_when_its_motor_is_warm() -> None:
    hot = dataclasses.replace(winch(pause=0, first=5000), duty=Duty.of(25, 400))
    record = worked(plan_with(hot), REST, (600, [DOWN]))
    # 100 ticks of running take 300 to cool.
    assert spans(record, 0) == [(104, 100), (504, 100)]


def test_short_runs_warm_a_motor_too() -> None:
    hot = dataclasses.replace(winch(pause=0, first=5000), duty=Duty.of(25, 400))
    moves = [(60, [DOWN]), (60, [CENTRE])]
    record = worked(plan_with(hot), REST, *moves, (400, [DOWN]))
    # 60 ticks warm it by 180 of 300 and the pause takes 60, so that 60 more are allowed; then the
    # 300 leave one a tick.
    assert spans(record, 0) == [(104, 60), (224, 60), (584, 36)]


FLOAT_CLOSED = Felt(1, 1, 1)
OPEN, CLOSED = 1, 0  # as the bench ship's contact is wired


def test_an_end_switch_stops_one_way_and_says_where_the_load_is() -> None:
    plan = plan_with(
        dataclasses.replace(winch(pause=0), ends=(FLOAT_CLOSED, None), unknown=(True, False))
    )
    moves = [REST, (100, [DOWN]), (40, [UP]), (100, [DOWN])]
    record = worked(plan, *moves, felt=[(0, 1, OPEN), (150, 1, CLOSED), (220, 1, OPEN)])
    stopped = 150 + DEBOUNCE_TICKS - 1
    assert spans(record, 1) == [(204, 40)]  # known since the switch, so that it may raise
    # While it runs away the switch says nothing, closed as it still is: it came up in all of these.
    assert spans(record, 0) == [(104, stopped - 104), (244, 40)]


def test_no_run_is_longer_than_its_limit_though_an_end_switch_has_stuck() -> None:
    plan = plan_with(dataclasses.replace(winch(pause=0), ends=(FLOAT_CLOSED, None)))
    (function,) = (one for one in plan.functions if isinstance(one, Winch))
    record = worked(plan, REST, (2_000, [UP]), felt=[(0, 1, CLOSED)])
    assert spans(record, 1) == [(104, function.second_limit_ticks)]


def test_a_winch_that_is_held_fast_stops_until_it_is_asked_anew() -> None:
    plan = plan_with(dataclasses.replace(winch(pause=0), stall=Felt(0, 500, 1023), stall_ticks=10))
    moves = [REST, (100, [DOWN]), (40, [CENTRE]), (60, [DOWN])]
    record = worked(plan, *moves, felt=[(0, 0, 0), (130, 0, 600), (170, 0, 0), (250, 0, 600)])
    # Its current is felt in tick 130, and has been for more than 10 ticks in tick 140.
    assert spans(record, 0) == [(104, 37), (244, 17)]


def test_a_short_peak_of_current_is_no_stall() -> None:
    plan = plan_with(dataclasses.replace(winch(pause=0), stall=Felt(0, 500, 1023), stall_ticks=10))
    record = worked(plan, REST, (100, [DOWN]), felt=[(0, 0, 0), (104, 0, 900), (114, 0, 100)])
    assert spans(record, 0) == [(104, 96)]


def test_a_duty_is_told_in_ticks() -> None:
    assert (Duty.of(25, 120_000).run_ticks, Duty.of(25, 120_000).rest_ticks) == (30_000, 90_000)
    assert Duty.of(60, 120_000) == Duty(limit=144_000, warms=2, cools=3)


@pytest.mark.parametrize(
    ("stick", "reverse", "width"),
    [
        (2000, False, 2000),
        (2500, False, 2500),
        (4000, False, 4000),
        (4300, False, 4000),
        (1700, False, 2000),
        (2500, True, 3500),
        (4300, True, 2000),
    ],
)
def test_a_follow_maps_ends_to_ends(stick: int, reverse: bool, width: int) -> None:
    plan = plan_with(follow(reverse=reverse))
    record = worked(plan, REST, (100, [CENTRE, CENTRE, stick]))
    assert record.servos_half_us[99, 0] == 3000
    assert record.servos_half_us[-1, 0] == width


def test_a_follow_moves_no_faster_than_its_speed() -> None:
    plan = plan_with(follow(step=5 * 256 + 128))
    record = worked(plan, REST, (40, [CENTRE, CENTRE, 4000]))
    moved = [int(width) - 3000 for width in record.servos_half_us[99:104, 0]]
    assert moved == [0, 5, 11, 16, 22]


def test_a_follow_waits_for_its_stick_to_be_at_rest() -> None:
    record = worked(plan_with(follow()), (200, [CENTRE, CENTRE, 4000]), (100, [CENTRE] * 3))
    assert set(record.servos_half_us[:, 0].tolist()) == {3000}


@pytest.mark.parametrize(("loss", "width"), [(Loss.OFF, 3000), (Loss.KEEP, 4000)])
def test_a_follow_goes_to_rest_or_stays(loss: Loss, width: int) -> None:
    plan = plan_with(follow(loss=loss))
    record = worked(plan, REST, (100, [CENTRE, CENTRE, 4000]), (400, [CENTRE, CENTRE, SILENCE]))
    assert record.servos_half_us[-1, 0] == width


def test_noise_within_the_dead_band_moves_nothing() -> None:
    plan = plan_with(follow())
    record = worked(plan, REST, *[(4, [CENTRE, CENTRE, 3000 + way]) for way in (8, -8, 3, -5) * 20])
    assert set(record.servos_half_us[:, 0].tolist()) == {3000}


def at_last(function: Follow, *moves: tuple[int, list[int]]) -> int:
    """Where the servo stands in the end."""
    return int(worked(plan_with(function), REST, *moves).servos_half_us[-1, 0])


@pytest.mark.parametrize(
    ("stick", "more", "width"),
    [
        # A deflection of 500 of 1000 is 2048 of 4096. Cubed that is 512, and
        # (2048 * 154 + 512 * 102) >> 8 = 1436, which is 351 of 1000.
        (3500, {"curve_per_256": 102}, 3351),
        (2500, {"curve_per_256": 102}, 2649),
        (4000, {"curve_per_256": 102}, 4000),
        (3500, {"curve_per_256": 256}, 3125),
        (3060, {"dead_half_us": 60}, 3000),
        (2940, {"dead_half_us": 60}, 3000),
        # (500 - 60) * 17848 is 1917 after its last 12 bits are rounded away: 468 of 1000.
        (3500, {"dead_half_us": 60}, 3468),
        (2000, {"dead_half_us": 60}, 2000),
        (3000, {"travel_half_us": (2200, 3040, 3500)}, 3040),
        (2500, {"travel_half_us": (2200, 3040, 3500)}, 2620),
        (4000, {"travel_half_us": (2200, 3040, 3500)}, 3500),
        (4000, {"travel_half_us": (2200, 3040, 3500), "reverse": True}, 2200),
        (3024, {"stick": Stick(2, 3024)}, 3000),
        (3500, {"mixed": Mixed(STICK, 128)}, 3750),
        (2500, {"mixed": Mixed(STICK, 128)}, 2250),
        (4000, {"mixed": Mixed(STICK, 128)}, 4000),
        (3500, {"mixed": Mixed(STICK, -128)}, 3250),
        (2500, {"mixed": Mixed(STICK, -256)}, 3000),
        (2500, {"mixed": Mixed(STICK, 128), "reverse": True}, 3750),
    ],
)
def test_a_follow_is_shaped(stick: int, more: dict[str, object], width: int) -> None:
    assert at_last(follow(**more), (100, [CENTRE, CENTRE, stick])) == width  # type: ignore[arg-type]


def test_a_tied_follow_obeys_the_other_stick_while_the_key_is_held() -> None:
    # The other stick is the same one with its middle elsewhere: 400 of 1400 is 1170 of 4096.
    tied = follow(tied=Tied(Stick(2, 2600), KEY_UP))
    assert at_last(tied, (40, [UP])) == 3286
    assert at_last(tied, (40, [UP]), (40, [CENTRE])) == 3000
    assert at_last(tied, (40, [UP]), (100, [SILENCE])) == 3000


def test_a_speed_controller_is_given_rest_first() -> None:
    function = follow(neutral_ticks=40)
    moves = [(30, [CENTRE] * 3), (80, [CENTRE, CENTRE, 3800]), (60, [CENTRE] * 3)]
    record = worked(plan_with(function), *moves, (40, [CENTRE, CENTRE, 3800]))
    away = [int(tick) for tick in (record.servos_half_us[:, 0] != 3000).nonzero()[0]]
    # 26 ticks at rest from tick 4 were too few; the 60 from tick 112 are enough.
    assert away == list(range(172, 210))


def test_after_a_loss_a_speed_controller_waits_for_rest_again() -> None:
    function = follow(neutral_ticks=40, loss=Loss.KEEP)
    full = [CENTRE, CENTRE, 3800]
    record = worked(
        plan_with(function), REST, (40, full), (100, [CENTRE, CENTRE, SILENCE]), (40, full)
    )
    assert set(record.servos_half_us[200:, 0].tolist()) == {3800}  # not armed: it stays
    record = worked(
        plan_with(function),
        REST,
        (40, full),
        (100, [CENTRE, CENTRE, SILENCE]),
        (8, [CENTRE] * 3),
        (8, full),
    )
    assert record.servos_half_us[-1, 0] == 3800


ABOVE = Felt(LEVEL, 500, 1023)


def auto(**parts: Any) -> Auto:
    given: dict[str, Any] = {
        "when": ABOVE,
        "wait_ticks": 0,
        "run_on_ticks": 0,
        "longest_ticks": 0,
        "by_hand": None,
        "stop": None,
        "on_loss": Loss.KEEP,
    }
    return Auto(name="pump", code="pump", drives=2, **{**given, **parts})


def high(first: int, last: int) -> list[tuple[int, int, int]]:
    """The level stands above from one tick to before another."""
    return [(first, LEVEL, 500), (last, LEVEL, 499)]


def test_an_auto_is_on_while_it_is_so_without_any_control() -> None:
    record = worked(plan_with(auto()), (600, [SILENCE] * 3), felt=high(100, 300))
    assert spans(record, 2) == [(100, 200)]


def test_an_auto_waits_runs_on_and_forgets_what_was_too_short() -> None:
    plan = plan_with(auto(wait_ticks=50, run_on_ticks=30))
    felt = [*high(10, 60), *high(100, 151), *high(200, 300)]
    record = worked(plan, (600, [CENTRE]), felt=felt)
    assert spans(record, 2) == [(150, 31), (250, 80)]


def test_an_auto_rests_after_its_longest_run_until_it_is_no_longer_so() -> None:
    plan = plan_with(auto(longest_ticks=100, run_on_ticks=40))
    record = worked(plan, (1000, [CENTRE]), felt=[*high(100, 500), *high(510, 550)])
    assert spans(record, 2) == [(100, 100), (510, 80)]


def test_an_auto_obeys_the_hand_and_the_stop() -> None:
    plan = plan_with(auto(by_hand=KEY_UP, stop=Ask(0, 0)))
    moves = [REST, (40, [UP]), REST, (40, [DOWN]), REST, REST]
    record = worked(plan, *moves, felt=[*high(200, 300), *high(400, 420)])
    assert spans(record, 2) == [(104, 40), (200, 44), (400, 20)]


@pytest.mark.parametrize(("loss", "length"), [(Loss.KEEP, 400), (Loss.OFF, 60)])
def test_an_auto_goes_on_by_itself_without_a_signal(loss: Loss, length: int) -> None:
    plan = plan_with(auto(by_hand=KEY_UP, on_loss=loss))
    record = worked(plan, REST, (500, [SILENCE]), felt=high(96, 496))
    assert spans(record, 2) == [(96, length)]


def test_an_auto_looks_at_a_contact_that_has_been_still() -> None:
    plan = plan_with(auto(when=Felt(FLOAT, 1, 1)))
    felt = [(0, FLOAT, 1), (100, FLOAT, 0), (103, FLOAT, 1), (200, FLOAT, 0), (300, FLOAT, 1)]
    record = worked(plan, (500, [CENTRE]), felt=felt)
    assert spans(record, 2) == [(200 + DEBOUNCE_TICKS - 1, 100)]


@pytest.mark.parametrize(("names", "begin"), [(("a", "b"), 104), (("b", "a"), 105)])
def test_an_auto_sees_what_stands_before_it_at_once(names: tuple[str, str], begin: int) -> None:
    lamp = Momentary(name=names[0], code=names[0], on_loss=Loss.OFF, ask=KEY_UP, drives=3)
    first = names[0] == "a"
    pump = dataclasses.replace(
        auto(when=StateOf(0 if first else 1, (1,))), name=names[1], code=names[1]
    )
    plan = plan_with(*([lamp, pump] if first else [pump, lamp]))
    assert spans(worked(plan, REST, (40, [UP]), REST), 2) == [(begin, 40)]
