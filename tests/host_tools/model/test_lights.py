"""Step, rhythm, sequence and dimmer, tick by tick, with a key worked by hand.

As in test_behaviours.py, a key that is moved at tick t (a multiple of 4) is believed at tick t + 4.
"""

from __future__ import annotations

import dataclasses
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest

from gen.behaviours import Dimmer, Loss, Momentary, Rhythm, Sequence, Step, Toggle
from gen.behaviours.dimmer import FLICKERS, WHOLE_FADE
from gen.behaviours.sequence import Leg
from gen.behaviours.trigger import Trigger, When
from gen.lightness import DUTIES
from gen.plan import StateOf
from host_tools.model import Model
from host_tools.model.behaviours.dimmer import xorshift
from host_tools.trace import Trace
from tests.host_tools.bench_ship import (
    CENTRE,
    DOWN,
    KEY_DOWN,
    KEY_UP,
    LOST_AFTER_TICKS,
    OTHER_UP,
    SILENCE,
    UP,
    plan_with,
    spans,
    worked,
)

if TYPE_CHECKING:
    from gen.plan import Plan
    from host_tools.record import Record

BELIEVED = 4
REST = (100, [CENTRE])
HELD = Trigger(When.HELD, KEY_UP)
PRESSED = Trigger(When.PRESSED, KEY_UP)
ALWAYS = Trigger(When.ALWAYS)
LAMP = Toggle(name="lamp", code="lamp", on_loss=Loss.OFF, ask=OTHER_UP, drives=3)


def step(*, wraps: bool = True, back: bool = True, loss: Loss = Loss.OFF) -> Step:
    return Step(
        name="deck",
        code="deck",
        on_loss=loss,
        ask=KEY_UP,
        back=KEY_DOWN if back else None,
        names=("off", "one", "both"),
        masks=(0, 1, 3),
        duties=((), (), ()),
        own_lines=(0, 2),
        own_lights=(),
        wraps=wraps,
    )


def press(position: int) -> list[tuple[int, list[int]]]:
    return [(20, [position]), (20, [CENTRE])]


def states(record: Record) -> list[int]:
    """The state of `step()` after each press of 40 ticks."""
    lines = record.lines[139::40]
    return [{0: 0, 1: 1, 5: 2}[int(bits)] for bits in lines]


@pytest.mark.parametrize(
    ("wraps", "presses", "expected"),
    [
        (True, [UP, UP, UP, UP], [1, 2, 0, 1]),
        (False, [UP, UP, UP, DOWN], [1, 2, 2, 1]),
        (True, [DOWN, DOWN, UP], [2, 1, 2]),
        (False, [DOWN, UP, DOWN, DOWN], [0, 1, 0, 0]),
    ],
)
def test_a_step_goes_on_and_back(wraps: bool, presses: list[int], expected: list[int]) -> None:
    moves = [move for position in presses for move in press(position)]
    assert states(worked(plan_with(step(wraps=wraps)), REST, *moves)) == expected


@pytest.mark.parametrize(("loss", "after"), [(Loss.OFF, 0), (Loss.KEEP, 1)])
def test_a_step_without_a_signal(loss: Loss, after: int) -> None:
    record = worked(plan_with(step(loss=loss)), REST, *press(UP), (200, [SILENCE]))
    assert states(record)[-1] == after


def test_a_step_may_dim_a_light() -> None:
    dims = Step(
        name="deck",
        code="deck",
        on_loss=Loss.OFF,
        ask=KEY_UP,
        back=None,
        names=("off", "dim", "full"),
        masks=(0, 0, 0),
        duties=((0,), (16,), (255,)),
        own_lines=(),
        own_lights=(0,),
        wraps=True,
    )
    record = worked(plan_with(dims), REST, *press(UP), *press(UP), *press(UP))
    assert record.levels[[99, 104, 144, 184], 0].tolist() == [0, 16, 255, 0]


@pytest.mark.parametrize(("left", "found"), [(0, 0), (2, 5), (3, 0), (255, 0)])
def test_a_step_comes_back_as_it_was_left(left: int, found: int) -> None:
    """A byte that is no state of it, from an EEPROM that has gone bad, is off."""
    plan = plan_with(dataclasses.replace(step(), remember=True))
    assert plan.kept_bytes == 1
    record = woken(plan, bytes([left]))
    assert set(record.lines.tolist()) == {found}
    assert record.kept == bytes([left if found else 0])


@pytest.mark.parametrize("keeps", [False, True])
def test_a_rhythm_that_was_left_on_begins_anew(keeps: bool) -> None:
    pressed = rhythm(7, 3, 1, 9, trigger=PRESSED, keeps=keeps)
    plan = plan_with(dataclasses.replace(pressed, remember=True))
    record = woken(plan, b"\x01")
    assert spans(record, 2)[:3] == [(0, 7), (10, 1), (20, 7)]
    assert record.kept == b"\x01"
    assert spans(woken(plan, b"\x00"), 2) == []


def test_a_dimmer_that_was_left_on_fades_up_again() -> None:
    plan = plan_with(dataclasses.replace(dimmer(trigger=PRESSED, up=65280 // 5), remember=True))
    levels = woken(plan, b"\x01").levels[:, 0].tolist()
    assert levels[:6] == [DUTIES[51], DUTIES[102], DUTIES[153], DUTIES[204], 255, 255]
    assert not any(woken(plan, b"\x00").levels[:, 0])


def woken(plan: Plan, kept: bytes) -> Record:
    """A board that finds `kept` at power-up, and hears nothing."""
    inputs = tuple(one.name for one in plan.inputs)
    silence = np.zeros((0, len(inputs)), np.uint16)
    return Model(plan).run(Trace(60, inputs, np.zeros(0, np.int64), silence, kept=kept))


def rhythm(
    *phases: int,
    trigger: Trigger = HELD,
    begins_on: bool = True,
    repeats: bool = True,
    keeps: bool = False,
    loss: Loss = Loss.OFF,
) -> Rhythm:
    return Rhythm(
        name="light",
        code="light",
        on_loss=loss,
        trigger=trigger,
        phases_ticks=phases,
        begins_on=begins_on,
        repeats=repeats,
        keeps_phase=keeps,
        drives=2,
        text="",
    )


def test_a_rhythm_is_exact_to_the_tick_and_begins_at_its_beginning() -> None:
    record = worked(plan_with(rhythm(7, 3, 1, 9)), REST, (52, [UP]), REST, (20, [UP]), REST)
    turns = (104, 124, 144, 256)  # the third is cut off, the fourth begins anew
    assert spans(record, 2) == [span for turn in turns for span in ((turn, 7), (turn + 10, 1))]


def test_a_rhythm_may_begin_with_darkness() -> None:
    record = worked(plan_with(rhythm(4, 6, begins_on=False)), REST, (20, [UP]), REST)
    assert spans(record, 2) == [(108, 6), (118, 6)]


def test_a_fixed_light_is_always_on() -> None:
    record = worked(plan_with(rhythm(1, trigger=ALWAYS)), REST)
    assert spans(record, 2) == [(0, 100)]


def test_two_lights_that_keep_their_phase_stay_in_step() -> None:
    """Lit from 0 to 9, 20 to 29 … whether anybody sees it or not."""
    record = worked(plan_with(rhythm(10, 10, keeps=True)), REST, (40, [UP]), REST)
    assert spans(record, 2) == [(104, 6), (120, 10), (140, 4)]


def test_a_pattern_that_comes_once_ends_by_itself_and_starts_anew() -> None:
    once = rhythm(5, 3, 5, trigger=PRESSED, repeats=False)
    record = worked(plan_with(once), REST, (40, [UP]), (40, [CENTRE]), (40, [UP]), REST)
    assert spans(record, 2) == [(104, 5), (112, 5), (184, 5), (192, 5)]


def test_a_press_while_such_a_pattern_runs_counts_for_nothing() -> None:
    once = rhythm(60, 3, 60, trigger=PRESSED, repeats=False)
    record = worked(plan_with(once), REST, *press(UP), *press(UP), REST)
    assert spans(record, 2) == [(104, 60), (167, 60)]


def test_a_press_switches_a_repeating_rhythm_on_and_off() -> None:
    record = worked(
        plan_with(rhythm(500, 500, trigger=PRESSED)), REST, *press(UP), *press(UP), REST
    )
    assert spans(record, 2) == [(104, 40)]


def test_a_rhythm_runs_while_another_function_is_on() -> None:
    """Function 0 is the lamp, which stands before the rhythm: seen in the same tick."""
    plan = plan_with(LAMP, rhythm(5, 5, trigger=Trigger(When.SO, of=StateOf(0, (1,)))))
    record = worked(plan, REST, (20, [CENTRE, UP]), (20, [CENTRE]), (20, [CENTRE, UP]), REST)
    assert spans(record, 3) == [(104, 40)]
    assert spans(record, 2) == [(104 + turn, 5) for turn in (0, 10, 20, 30)]


@pytest.mark.parametrize(("loss", "end"), [(Loss.OFF, 256), (Loss.KEEP, 500), (Loss.ON, 500)])
def test_a_rhythm_without_a_signal(loss: Loss, end: int) -> None:
    """The last pulse comes at 196, and the channel is lost 60 ticks later."""
    assert LOST_AFTER_TICKS == 60
    record = worked(plan_with(rhythm(5000, 1, loss=loss)), REST, (100, [UP]), (300, [SILENCE]))
    assert spans(record, 2) == [(104, end - 104)]


def sequence(*legs: Leg, abort: bool = True, loss: Loss = Loss.OFF) -> Sequence:
    return Sequence(
        name="start",
        code="start",
        on_loss=loss,
        ask=KEY_UP,
        abort=KEY_DOWN if abort else None,
        own_lines=(0, 2),
        line_names=("one", "two"),
        legs=legs,
        waits=(StateOf(0, (1,)),),
    )


def leg(on: int, ticks: int, *, until: int | None = None, aborts: bool = False) -> Leg:
    return Leg(on, ticks, until, aborts)


def test_a_sequence_runs_its_stages_from_one_press() -> None:
    plan = plan_with(LAMP, sequence(leg(1, 10), leg(3, 5), leg(2, 1), leg(0, 7), leg(1, 3)))
    record = worked(plan, REST, (60, [UP]), REST)
    assert spans(record, 0) == [(104, 15), (127, 3)]
    assert spans(record, 2) == [(114, 6)]


def test_what_a_sequence_leaves_on_stays_until_it_is_aborted() -> None:
    plan = plan_with(LAMP, sequence(leg(1, 10), leg(2, 0)))
    record = worked(plan, REST, *press(UP), *press(UP), *press(DOWN), REST)
    assert spans(record, 0) == [(104, 10)]
    assert spans(record, 2) == [(114, 184 - 114)]


def test_a_sequence_waits_until_another_function_is_on() -> None:
    plan = plan_with(LAMP, sequence(leg(1, 0, until=0), leg(2, 8)))
    record = worked(plan, REST, (40, [UP]), (40, [CENTRE, UP]), REST)
    assert spans(record, 0) == [(104, 40)]
    assert spans(record, 2) == [(144, 8)]


@pytest.mark.parametrize(("aborts", "after"), [(True, []), (False, [(134, 8)])])
def test_what_does_not_come_in_time(aborts: bool, after: list[tuple[int, int]]) -> None:
    plan = plan_with(LAMP, sequence(leg(1, 30, until=0, aborts=aborts), leg(2, 8)))
    record = worked(plan, REST, (20, [UP]), REST)
    assert spans(record, 0) == [(104, 30)]
    assert spans(record, 2) == after


@pytest.mark.parametrize(("loss", "length"), [(Loss.OFF, 92), (Loss.KEEP, 300)])
def test_a_sequence_without_a_signal(loss: Loss, length: int) -> None:
    plan = plan_with(LAMP, sequence(leg(1, 300), loss=loss))
    record = worked(plan, REST, (40, [UP]), (400, [SILENCE]))
    assert spans(record, 0) == [(104, length)]


def dimmer(
    *,
    trigger: Trigger = HELD,
    brightness: int = 255,
    knob: int | None = None,
    up: int = WHOLE_FADE,
    down: int = WHOLE_FADE,
    flicker: str = "",
    loss: Loss = Loss.OFF,
) -> Dimmer:
    return Dimmer(
        name="cabin",
        code="cabin",
        on_loss=loss,
        trigger=trigger,
        brightness=brightness,
        knob=knob,
        up_per_256=up,
        down_per_256=down,
        flicker=flicker,
        seed=1,
        drives=0,
    )


def test_a_dimmer_fades_up_and_down_in_its_time() -> None:
    """200 ticks from dark to full, 100 back."""
    up, down = -(-WHOLE_FADE // 200), -(-WHOLE_FADE // 100)
    record = worked(plan_with(dimmer(up=up, down=down)), REST, (300, [UP]), (200, [CENTRE]))
    levels = record.levels[:, 0]
    assert levels[103] == 0
    assert levels[302] < 255
    assert levels[303] == 255
    assert levels[403] == 255
    assert levels[502] > 0
    assert levels[503] == 0
    half = levels[104 + 99]
    assert half == DUTIES[100 * up >> 8]
    assert all(later >= earlier for earlier, later in pairwise(levels[104:304].tolist()))


def test_a_dimmer_follows_a_knob() -> None:
    plan = plan_with(dimmer(trigger=ALWAYS, knob=2))
    for width, brightness in ((2000, 0), (1900, 0), (3000, 127), (4000, 255), (4300, 255)):
        record = worked(plan, REST, (40, [CENTRE, CENTRE, width]))
        assert record.levels[-1, 0] == DUTIES[brightness]


def test_a_dimmer_is_dark_before_its_knob_was_seen_at_rest() -> None:
    record = worked(plan_with(dimmer(trigger=ALWAYS, knob=2)), (100, [CENTRE, CENTRE, 4000]))
    assert not record.levels.any()


@pytest.mark.parametrize(("loss", "level"), [(Loss.OFF, 0), (Loss.KEEP, 128), (Loss.ON, 128)])
def test_a_dimmer_without_a_signal(loss: Loss, level: int) -> None:
    plan = plan_with(dimmer(brightness=128, loss=loss))
    record = worked(plan, REST, (100, [UP]), (300, [SILENCE]))
    assert record.levels[-1, 0] == DUTIES[level]


@pytest.mark.parametrize("name", FLICKERS)
def test_flicker_is_the_same_each_time_and_stays_within_its_bounds(name: str) -> None:
    flicker = FLICKERS[name]
    plan = plan_with(dimmer(flicker=name))
    first, second = (worked(plan, REST, (2000, [UP]), REST) for _ in range(2))
    assert (first.levels == second.levels).all()
    lit = set(first.levels[104:2104, 0].tolist())
    assert len(lit) > 20
    assert (0 in lit) == (flicker.dark_of_8 > 0)
    assert min(lit - {0}) >= DUTIES[flicker.dimmest]


def test_the_generator_of_flicker_comes_round_after_all_numbers_but_zero() -> None:
    seen = 1
    x = xorshift(1)
    while x != 1:
        seen += 1
        x = xorshift(x)
    assert seen == 0xFFFF


def test_a_dimmer_does_not_forget_a_press_while_it_fades() -> None:
    plan = plan_with(
        dimmer(trigger=PRESSED, up=256, down=256),
        Momentary(name="horn", code="horn", on_loss=Loss.OFF, ask=KEY_DOWN, drives=3),
    )
    record = worked(plan, REST, *press(UP), *press(UP), (100, [CENTRE]))
    assert record.levels[143, 0] == DUTIES[40]
    assert record.levels[183, 0] == DUTIES[0]
